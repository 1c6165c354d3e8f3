"""A folder of sheets, as the tests read it."""

import csv
import io
from fractions import Fraction
from html.parser import HTMLParser


def seen(folder):
    """What a person sees in a folder; the record of which files are ours is hidden."""
    return sorted(p.name for p in folder.iterdir() if p.name != ".lumenmap-files.json")


def rows(folder, name):
    return list(csv.DictReader(io.StringIO((folder / f"{name}.csv").read_text())))


class Reader(HTMLParser):
    """Holds that every tag is closed in order, and gathers the text."""

    def __init__(self):
        super().__init__()
        self.open, self.text, self.links, self.ids = [], [], [], []

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.links += [v for k, v in attrs.items() if k in ("src", "href")]
        self.ids += [attrs["id"]] if "id" in attrs else []
        if tag not in ("meta", "input"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        pass

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


def told(folder):
    """Return the page's text, with plain spaces."""
    reader = Reader()
    reader.feed((folder / "sheets.html").read_text())
    return " ".join(" ".join(reader.text).replace("\N{NO-BREAK SPACE}", " ").split())


def number(mark):
    """A mark such as 14 13/32, as a number."""
    return float(sum(Fraction(part) for part in mark.split()))
