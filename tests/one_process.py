"""Several commands of lumenmap in one fresh process, so that none but the first imports everything."""

import json
import subprocess
import sys

PROGRAM = """
import json, sys
from lumenmap.cli import main
commands, codes = json.loads(sys.argv[1])
for words in commands:
    sys.argv = ["lumenmap", *words]
    try:
        main()
    except SystemExit as end:
        assert (end.code or 0) in codes, words
"""


def one_after_another(commands, *, codes=(0,), **kw):
    """Run commands, each a list of words; one that ends with another code ends them all."""
    words = [[[str(word) for word in command] for command in commands], codes]
    return subprocess.run(
        [sys.executable, "-c", PROGRAM, json.dumps(words, ensure_ascii=False)],
        capture_output=True,
        **kw,
    )
