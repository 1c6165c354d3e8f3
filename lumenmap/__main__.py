"""``python -m lumenmap``: the command line."""

from lumenmap.cli import program

program()
