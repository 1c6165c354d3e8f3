"""The messages between the desk and a browser, in both directions.

Text frames are JSON objects with a ``type``: those of `lumenmap.desk.wire.asked` from the browser,
those of `lumenmap.desk.wire.told` from the server. The browser's types are made from these models
by `lumenmap.desk.wire.types`. Binary frames, from the server only, are stretches of codes: see
`lumenmap.desk.wire.stretch`.

======================  ===========================================================
route                   what it is
======================  ===========================================================
``GET /``               the page; without the cookie, the page that asks for a code
``GET /page/NAME``      its modules and style
``GET /open?token=…``   a one-time address, exchanged for the cookie
``POST /pair``          ``{"code": "123456"}``, exchanged for the cookie
``GET /picture/KEY``    the data of the house's picture, see `House.picture`
``WS /socket``          these messages
======================  ===========================================================
"""
