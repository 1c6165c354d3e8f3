"""A page that opens over weak Wi-Fi: what goes over it is small, and not sent twice."""

import gzip

from lumenmap.desk.server import page_files


def got(desk, path, **headers):
    answer = desk.http("GET", path, cookie=desk.let_in(), **headers)
    assert answer.status == 200
    return answer


def test_the_page_and_its_picture_are_compressed(shared_desk):
    """Everything a browser loads before anything is seen, for one that takes gzip and for one that
    doesn't; a quarter of the script and style is left.
    """
    plain = small = 0
    for name in page_files():
        bare, packed = (
            got(shared_desk, f"/page/{name}", **words)
            for words in ({}, {"Accept_Encoding": "gzip, br"})
        )
        if packed.headers.get("content-encoding") == "gzip":
            assert gzip.decompress(packed.body) == bare.body
        else:
            assert packed.body == bare.body and len(bare.body) < 1000
        assert "content-encoding" not in bare.headers
        plain, small = plain + len(bare.body), small + len(packed.body)
    assert small < 0.45 * plain


def test_a_file_that_the_browser_has_isnt_sent_again(shared_desk):
    first = got(shared_desk, "/page/desk.css", Accept_Encoding="gzip")
    tag = first.headers["etag"]
    assert first.headers["cache-control"] == "private, no-cache"
    for given, status in ((tag, 304), (f'"other", {tag}', 304), ('W/"other"', 200)):
        again = shared_desk.http(
            "GET", "/page/desk.css", cookie=shared_desk.let_in(), If_None_Match=given
        )
        assert (again.status, again.headers["etag"]) == (status, tag)
        assert bool(again.body) == (status == 200)
        assert "content-security-policy" in again.headers
    assert got(shared_desk, "/page/desk.js").headers["etag"] != tag


def test_what_is_for_one_browser_alone_is_kept_by_none(shared_desk):
    """The page itself depends on who asks."""
    assert got(shared_desk, "/").headers["cache-control"] == "no-store"
    missing = shared_desk.http("GET", "/page/none.js", cookie=shared_desk.let_in())
    assert missing.status == 404 and "etag" not in missing.headers
    assert missing.headers["cache-control"] == "no-store"
