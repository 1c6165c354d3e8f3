"""The player for other processors: compiled, measured, and run on emulated machines.

``python -m tests.controller.board.targets`` prints the tables of sizes and stacks.
"""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from tests.controller.board.conftest import DECODER, HERE, PLAYER, SOURCES

MACHINE = HERE / "machine"
FLAGS = ["-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-Werror", "-Os"]
FLAGS += ["-ffreestanding", "-fno-tree-loop-distribute-patterns"]  # no hidden call of memset
LINK = ["-nostdlib", "-ffunction-sections", "-Wl,--gc-sections", "-Wl,--no-warn-rwx-segments"]
FLAGS += [f"-I{p}" for p in (DECODER, PLAYER, MACHINE, MACHINE / "bare")]


@dataclass(frozen=True)
class Target:
    """A processor, and Debian's cross compiler for it."""

    name: str
    prefix: str
    flags: tuple[str, ...]
    call: int  # octets that a call leaves on the stack besides the function's own

    @property
    def there(self) -> bool:
        return shutil.which(f"{self.prefix}gcc") is not None


TARGETS = (
    Target("Cortex-M3", "arm-none-eabi-", ("-mcpu=cortex-m3", "-mthumb"), 0),
    Target("Xtensa LX106", "xtensa-lx106-elf-", ("-mlongcalls",), 0),
    Target(
        "RISC-V 32",
        "riscv64-unknown-elf-",
        ("-march=rv32imac", "-mabi=ilp32", "-misa-spec=2.2", "-mcmodel=medany"),
        0,
    ),
    Target("AVR", "avr-", ("-mmcu=atmega2560",), 3),
)
#: What the board's program calls, each from its own loop.
ENTRIES = ("lmfi_next", "lmp_step", "lml_packet", "lml_step", "lmw_spi")


@dataclass(frozen=True)
class Measured:
    """Octets: code and constants in all, static data, and the deepest stack of each entry."""

    code: dict[str, int]
    data: int
    stack: dict[str, int]


def measure(target: Target, folder: Path) -> Measured:
    """Compile every source alone, with every warning an error."""
    words = [*FLAGS, *target.flags, "-fstack-usage", "-c", *SOURCES]
    subprocess.run([f"{target.prefix}gcc", *words], check=True, cwd=folder)
    objects = [f"{source.stem}.o" for source in SOURCES]
    sizes = subprocess.run(
        [f"{target.prefix}size", *objects], capture_output=True, text=True, check=True, cwd=folder
    ).stdout.splitlines()[1:]
    code, data = {}, 0
    use: dict[str, int] = {}
    for source, size in zip(SOURCES, sizes, strict=True):
        text, static, bss = map(int, size.split()[:3])
        code[source.name], data = text + static, data + bss
        for line in (folder / f"{source.stem}.su").read_text().splitlines():
            place, octets, how = line.split("\t")
            assert "dynamic" not in how or "bounded" in how, line
            use[place.rsplit(":", 1)[1]] = int(octets) + target.call
    return Measured(code, data, {e: _deepest(e, use, _calls()) for e in ENTRIES})


@cache
def _calls() -> dict[str, set[str]]:
    """Who calls whom, by the first compiler that can tell."""
    calls = defaultdict(set)
    words = f"cc -Os -I{DECODER} -I{PLAYER} -fno-inline -fcallgraph-info -c".split()
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run([*words, *SOURCES], check=True, cwd=folder)
        for source in SOURCES:
            text = Path(folder, f"{source.stem}.ci").read_text()
            for caller, callee in re.findall(r'sourcename: "([^"]+)" targetname: "([^"]+)"', text):
                calls[caller.rsplit(":", 1)[-1]].add(callee.rsplit(":", 1)[-1])
    return calls


def _deepest(name: str, use: dict[str, int], calls: dict[str, set[str]], above=()) -> int:
    """Octets of the deepest chain of calls; a function inlined elsewhere takes none of its own."""
    assert name not in above, f"{name} calls itself"
    below = (_deepest(c, use, calls, (*above, name)) for c in calls.get(name, ()))
    own = next((n for key, n in use.items() if key.split(".")[0] == name), 0)
    return own + max(below, default=0)


@dataclass(frozen=True)
class Machine:
    """An emulated machine, and the target that its programs are compiled for."""

    target: Target
    script: str
    command: tuple[str, ...]

    @property
    def there(self) -> bool:
        return self.target.there and shutil.which(self.command[0]) is not None

    def build(self, out: Path) -> Path:
        sources = [MACHINE / "main.c", MACHINE / "machine.c", MACHINE / "bare" / "string.c"]
        subprocess.run(
            [
                f"{self.target.prefix}gcc",
                *FLAGS,
                *self.target.flags,
                *LINK,
                f"-T{MACHINE / self.script}",
                "-o",
                out,
                *sources,
                *SOURCES,
                "-lgcc",
            ],
            check=True,
        )
        return out

    def play(self, program: Path, image: bytes, folder: Path) -> tuple[bytes, np.ndarray]:
        """Return all frames' octets, and the instructions that each frame took."""
        folder.mkdir(exist_ok=True)
        (folder / "image").write_bytes(image)
        options = ["-nographic", "-icount", "shift=0", "-semihosting-config"]
        options += ["enable=on,target=native", "-kernel", program]
        got = subprocess.run(
            [*self.command, *options], cwd=folder, timeout=300, capture_output=True
        )
        assert got.returncode == 0, got.stderr.decode()
        return (folder / "out").read_bytes(), np.fromfile(folder / "counts", "<u4")


MACHINES = (
    Machine(TARGETS[0], "arm.ld", ("qemu-system-arm", "-M", "mps2-an385")),
    Machine(TARGETS[2], "riscv.ld", ("qemu-system-riscv32", "-M", "virt", "-bios", "none")),
)


def main() -> None:
    rows = []
    for target in TARGETS:
        if not target.there:
            print(f"{target.name}: {target.prefix}gcc is not installed")
            continue
        with tempfile.TemporaryDirectory() as folder:
            rows.append((target, measure(target, Path(folder))))
    print("code and constants, octets")
    print(f"{'':18}" + "".join(f"{t.name:>14}" for t, _ in rows))
    for source in SOURCES:
        print(f"{source.name:18}" + "".join(f"{m.code[source.name]:>14,}" for _, m in rows))
    print(f"{'in all':18}" + "".join(f"{sum(m.code.values()):>14,}" for _, m in rows))
    print("deepest stack, octets (without your own four functions)")
    for entry in ENTRIES:
        print(f"{entry:18}" + "".join(f"{m.stack[entry]:>14,}" for _, m in rows))


if __name__ == "__main__":
    sys.exit(main())
