"""The connection to a broker: that it is gone is told once, and it is tried again and again."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from lumenmap.almanac.choice import tonight_date
from lumenmap.almanac.model import Almanac
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.extras import install
from lumenmap.core.plain import plain
from lumenmap.hub.address import Broker
from lumenmap.hub.choose import choice_for, shows, write_choice
from lumenmap.hub.messages import OFFLINE, ONLINE, Light, Topics, read_command, topic_name

#: How soon a lost broker is tried again, and how late at most (s).
_FIRST_SECONDS, _LAST_SECONDS = 1, 30


@dataclass(frozen=True, slots=True)
class House:
    """What the hub is told about and changes.

    Attributes
    ----------
    almanac
        Returns the almanac as it is now.
    wall
        The time of day, UTC.
    """

    almanac: Callable[[], Almanac]
    wall: Callable[[], datetime]


class Hub:
    """A house's place on a broker.

    Parameters
    ----------
    prefix
        Of the discovery messages; none are sent if empty.
    say
        Gets a sentence when something happens.

    Raises
    ------
    InputError
        The library isn't installed.
    """

    def __init__(
        self, broker: Broker, house: House, say: Callable[[str], None], *, prefix: str = ""
    ) -> None:
        try:
            from paho.mqtt.client import Client
            from paho.mqtt.enums import CallbackAPIVersion
        except ImportError:
            raise InputError(f"hubs need more libraries: {install('hub')}", key="hub") from None
        self._broker, self._house, self._say, self._prefix = broker, house, say, prefix
        book = house.almanac()
        self._topics = Topics(topic_name(book.name))
        self._told, self._last = "", dict[str, str]()
        self._lock = threading.Lock()
        self._shows: list[str] = []
        self._client = Client(CallbackAPIVersion.VERSION2, f"lumenmap-{self._topics.name}")
        client = self._client
        if broker.user or broker.password:
            client.username_pw_set(broker.user, broker.password)
        if broker.tls:
            client.tls_set()
        client.will_set(self._topics.available, OFFLINE, qos=1, retain=True)
        client.reconnect_delay_set(_FIRST_SECONDS, _LAST_SECONDS)
        client.on_connect = self._connected
        client.on_disconnect = self._disconnected
        client.on_connect_fail = lambda *_: self._tell_once("can't be reached; trying again")
        client.on_message = self._message

    def start(self) -> None:
        """Connect, in a thread of the library's."""
        self._client.connect_async(self._broker.host, self._broker.port, keepalive=30)
        self._client.loop_start()

    def stop(self) -> None:
        """Say goodbye."""
        goodbye = self._client.publish(self._topics.available, OFFLINE, qos=1, retain=True)
        if self._client.is_connected():
            goodbye.wait_for_publish(1.0)
        self._client.disconnect()
        self._client.loop_stop()

    def tell(self, light: Light) -> None:
        """Publish what has changed of the light's state."""
        if not self._client.is_connected():
            return
        with self._lock:
            for topic, payload in self._topics.states(light).items():
                if self._last.get(topic) != payload:
                    self._client.publish(topic, payload, retain=True)
                    self._last[topic] = payload
            if (known := list(shows(self._house.almanac()))) != self._shows:
                self._shows = known
                self._discover()

    def _discover(self) -> None:
        title = self._house.almanac().name
        found = self._topics.discovery(self._prefix, title, self._shows) if self._prefix else {}
        for topic, payload in found.items():
            self._client.publish(topic, payload, qos=1, retain=True)

    def _connected(self, client: Any, _data: Any, _flags: Any, code: Any, _more: Any) -> None:
        if code.is_failure:
            self._tell_once(f"refuses the connection: {code}; trying again")
            return
        self._tell_once("connected")
        client.subscribe(self._topics.command, qos=1)
        client.publish(self._topics.available, ONLINE, qos=1, retain=True)
        with self._lock:
            self._last.clear()  # another broker may not have it
            self._shows = list(shows(self._house.almanac()))
            self._discover()

    def _disconnected(self, *words: Any) -> None:
        code = words[3]
        if code.is_failure and not self._told.startswith("refuses"):
            self._tell_once(f"is gone: {code}; trying again")

    def _tell_once(self, text: str) -> None:
        if text != self._told:
            self._told = text
            self._say(f"hub at {self._broker.host}:{self._broker.port}: {plain(text, 200)}")

    def _message(self, _client: Any, _data: Any, message: Any) -> None:
        """Do what a command says; one that the broker kept from before isn't meant for now."""
        if message.retain:
            return
        try:
            command = read_command(message.payload)
            almanac, now = self._house.almanac(), self._house.wall()
            choice = choice_for(command, almanac, now)
            write_choice(almanac.file, tonight_date(almanac, now), choice)
        except LumenmapError as error:
            self._say(f"hub: command not followed: {error}")
