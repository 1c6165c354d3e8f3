"""``python -m lumenmap``: the command line."""

from lumenmap.cli import main

main()
