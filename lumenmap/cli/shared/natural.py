"""What people type first, and what it is called here: said with the refusal.

Strategy: nothing of this is an option or a command. A word that isn't one is looked up here, and
only what the command at hand does have is named. The library's own guesses go by letters: they
stand where there is no better one.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from typing import Any

from typer.core import TyperCommand, TyperGroup

#: Options by what people call them, the likeliest first.
_OPTIONS: tuple[tuple[str, str], ...] = (
    ("-o --out --output --file --save", "--out --picture --ics --plots"),
    ("-p --picture --image --img --png --svg --pdf --draw --plot", "--picture --out"),
    ("--photograph --image --from --picture", "--photo"),
    ("-w --size --resolution --res", "--width"),
    ("-s -t --duration --length --secs --time", "--seconds"),
    ("--day --dusk --night --dark --daylight", "--time"),
    ("--frame --moment --second --start", "--at"),
    ("-v --verbose --full --details --long --list", "--all"),
    ("-t --to --ip --host --address --controller --target --send", "--to"),
    ("-b --dim --level --bright --gain", "--brightness"),
    ("--colour --color --colours --colors", "--palette"),
    ("--date --day --for --when", "--on"),
    ("--place --where --edge --only --part", "--on"),
    ("--no-open --headless --no-page", "--no-browser"),
    ("--phone --phones --network --public --host --wifi", "--lan"),
    ("--pixel --index --no", "--number"),
    ("--unit --units --metre --metres --meter --meters --si", "--metric --unit"),
    ("--repeat --endless --forever", "--loop"),
    ("-j --jobs --threads --parallel --processes --cores", "--workers"),
    ("--dry --simulate --test --pretend", "--dry-run"),
    ("--a4 --letter --format", "--paper"),
    ("--service --daemon --background --install", "--systemd"),
    ("--var --variable --value --values", "--set"),
    ("--rate --framerate --frames", "--fps"),
    ("--live --follow --open", "--watch"),
    ("--house-file --home", "--house"),
    ("--calendar --ical --icalendar", "--ics"),
    ("--options --param", "--option"),
    ("--table --machine", "--csv --json"),
)
#: Commands by what people call them. A word with dashes is an option of lumenmap itself.
_COMMANDS: tuple[tuple[str, str], ...] = (
    ("play send live sacn e131", "stream run"),
    ("web ui serve server open gui app edit compose browser", "desk"),
    ("render animate gif film video view picture show image", "preview make"),
    ("wiring volts amps current fuses feed plan", "power"),
    ("build cut drill bom parts buy plans print", "sheets"),
    ("calendar schedule almanac", "tonight year"),
    ("today evening", "tonight"),
    ("photo photograph camera", "marks preview"),
    ("init create start", "new"),
    ("validate lint verify test", "check"),
    ("effect list", "effects"),
    ("palettes colours colors colour", "palette"),
    ("pixels layout house", "map"),
    ("upgrade migrate convert", "update"),
    ("scan discover", "find"),
    ("daemon service start", "run"),
    ("music sound tempo", "beats"),
    ("version", "--version"),
)
#: The option that takes what people write after the file without one.
_LEFT_OVER = {"tonight": "--on", "year": "--year", "locate": "--number", "stream": "--to"}


def natural(word: str, known: tuple[tuple[str, str], ...], there: Any) -> list[str]:
    """Return what a word that people type is called here, of what there is."""
    found = [name for words, names in known if word in words.split() for name in names.split()]
    return [name for name in dict.fromkeys(found) if name in there]


class Command(TyperCommand):
    """A command that knows what its options are called elsewhere."""

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read a command line; what it can't take is said with what it can."""
        with _said(self):
            return super().parse_args(ctx, args)


class Group(TyperGroup):
    """All commands; a word that isn't one is said with what it may mean."""

    def resolve_command(self, ctx: Any, args: list[str]) -> tuple[str | None, Any, list[str]]:
        """Find the command that a command line begins with."""
        try:
            return super().resolve_command(ctx, args)
        except Exception as error:
            there = [*self.commands, *(o for p in self.params for o in p.opts)]
            names = natural(args[0].lower(), _COMMANDS, there)
            if names and hasattr(error, "message"):
                error.message = f"No such command '{args[0]}'; did you mean {' or '.join(names)}?"
            raise


@contextlib.contextmanager
def _said(command: Any) -> Iterator[None]:
    """Have the library's refusal of a command line say what to write instead."""
    try:
        yield
    except Exception as error:
        message = getattr(error, "message", None)
        if isinstance(message, str):
            error.message = _better(error, message, command)  # type: ignore[attr-defined]
        raise


def _better(error: Any, message: str, command: Any) -> str:
    by_name = {o: p for p in command.params for o in (*p.opts, *p.secondary_opts)}
    if (typed := getattr(error, "option_name", None)) and hasattr(error, "possibilities"):
        if names := natural(typed, _OPTIONS, by_name):
            error.possibilities = None
            value = typed[2:] if names == ["--time"] else ""
            shown = [_shown(name, by_name[name], value) for name in names]
            return f"{message}; did you mean {' or '.join(shown)}?"
        return message
    if message.startswith("Got unexpected extra argument"):
        option, left = _LEFT_OVER.get(command.name or ""), message.rpartition(" (")[2].rstrip(")")
        return f"{message}; did you mean {option} {left}?" if option in by_name else message
    if type(error).__name__ == "MissingParameter" and not message:
        means = str(getattr(error.param, "help", None) or "").partition(". ")[0].rstrip(".")
        return f"{means}{'' if means.endswith('?') else '.'}" if means else message
    return message.removeprefix("Value error, ")


def _shown(name: str, option: Any, value: str) -> str:
    value = value or ("" if option.is_flag else option.metavar or "")
    return f"{name} {value}".rstrip()
