import shutil
import struct
import subprocess
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import heatshrink2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import lumenmap.controller
from lumenmap.controller.files.frameset import FrameLine, FrameSet
from lumenmap.controller.files.registry import format_named
from lumenmap.controller.flash.huffman import canonical_codes, code_lengths, merge_tables
from lumenmap.controller.flash.image import flash_image
from lumenmap.controller.flash.loss import darken
from lumenmap.controller.flash.pack import pack
from lumenmap.controller.flash.symbols import split_number
from lumenmap.core.errors import InputError

C = Path(lumenmap.controller.__file__).parent / "c"
SOURCES = tuple(C / f"lumenmap_{n}.c" for n in ("flash", "decode", "bits"))
CFLAGS = ["-std=c99", "-pedantic", "-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-Werror"]
CFLAGS += ["-O1", "-g"]
SANE = ["-fsanitize=address,undefined", "-fno-sanitize-recover=all"]
CC = shutil.which("cc") or shutil.which("gcc")


@pytest.fixture(scope="module")
def tool(once):
    if CC is None:
        pytest.skip("there is no C compiler")
    source = Path(__file__).parent / "flash_tool.c"
    words = [CC, *CFLAGS, *SANE, f"-I{C}", source, *SOURCES, "-o"]
    out = once("flash_tool", lambda made: subprocess.run([*words, made], check=True))

    def run(*args):
        return subprocess.run([out, *map(str, args)], capture_output=True)

    return run


def show(codes, fps=40.0, lines=None):
    codes = np.ascontiguousarray(codes, np.uint8)
    lines = lines or (FrameLine("all", 0, codes.shape[1], 1, "RGBW"[: codes.shape[2]]),)
    return FrameSet(codes, fps, lines)


def sample(name, frames=90, pixels=150, channels=3):
    """Small shows of very different kinds, linear 8-bit codes."""
    rng = np.random.default_rng(11)
    t, x = np.arange(frames)[:, None, None] / 40, np.arange(pixels)[None, :, None]
    hue = np.array([1.0, 0.6, 0.2, 0.1])[:channels]
    light = {
        "dark": lambda: np.zeros((frames, pixels, channels)),
        "noise": lambda: rng.random((frames, pixels, channels)),
        "chase": lambda: np.exp(-((x - 30 * t) % 50) / 9) * hue,
        "steps": lambda: ((x + np.floor(10 * t)) % 6 < 3) * hue,
        "wave": lambda: (0.5 + 0.5 * np.sin(x / 20 - 2 * t + 2 * hue)) ** 2.2,
        "glints": lambda: (rng.random((frames, pixels, 1)) < 0.01) * hue,
        "fade": lambda: np.ones_like(x) * hue * (1 - t / t.max()),
    }[name]()
    return np.floor(np.clip(light, 0, 1) * 255 + 0.5).astype(np.uint8)


KINDS = ("dark", "noise", "chase", "steps", "wave", "glints", "fade")


def decoded(tool, tmp_path, data):
    (tmp_path / "image").write_bytes(data)
    got = tool("decode", tmp_path / "image")
    assert got.returncode == 0 and not got.stderr, got.stderr.decode()
    return got.stdout


@pytest.mark.parametrize("channels", [3, 4])
@pytest.mark.parametrize("kind", KINDS)
def test_c_decoder_gives_the_very_bytes(tool, tmp_path, kind, channels):
    codes = sample(kind, channels=channels)
    assert decoded(tool, tmp_path, flash_image(show(codes))) == codes.tobytes()


@given(
    shape=st.tuples(st.integers(1, 30), st.integers(1, 70), st.sampled_from([3, 4])),
    colours=st.integers(1, 256),
    fps=st.sampled_from([0.5, 1.0, 7.0, 29.97, 60.0]),
    seed=st.integers(0, 9999),
    hold=st.integers(1, 20),
)
def test_any_frames_come_back(tool, tmp_path_factory, shape, colours, fps, seed, hold):
    rng = np.random.default_rng(seed)
    codes = rng.integers(0, colours, shape).astype(np.uint8) * (255 // colours)
    codes = np.repeat(codes, hold, axis=1)[:, : shape[1]]
    folder = tmp_path_factory.mktemp("any")
    assert decoded(tool, folder, flash_image(show(codes, fps))) == codes.tobytes()


def test_seeking_gives_the_same_frames(tool, tmp_path):
    codes = sample("wave")
    (tmp_path / "image").write_bytes(flash_image(show(codes)))
    wanted = [89, 0, 41, 40, 39, 88]
    got = tool("seek", tmp_path / "image", *wanted)
    assert got.stdout == b"".join(codes[i].tobytes() for i in wanted)
    assert tool("seek", tmp_path / "image", 90).returncode == 4, "no such frame"


def test_chunks_that_are_not_kept_are_labelled_again_alike(monkeypatch):
    """A long show's labels would fill the memory, so only its first chunks' are kept."""
    frames = show(np.concatenate([sample("wave"), sample("chase"), sample("noise")]))
    monkeypatch.setattr("lumenmap.controller.flash.image._CHUNK", 40 * 150)
    whole = flash_image(frames)
    monkeypatch.setattr("lumenmap.controller.flash.image._KEPT", 2)
    assert flash_image(frames) == whole


def test_header_says_what_is_in_it_and_memory_is_small(tool, tmp_path):
    lines = (FrameLine("a", 0, 100, 1, "RGB"), FrameLine("b", 100, 50, 2, "GRB"))
    image = flash_image(show(sample("steps"), 29.97, lines), loss=3)
    (tmp_path / "image").write_bytes(image)
    head, *rows = tool("info", tmp_path / "image").stdout.decode().splitlines()
    frames, pixels, channels, rate, segment, loss, memory, verified = head.split()
    assert (frames, pixels, channels, rate) == ("90", "150", "3", "2997/100")
    assert segment == "29", "a key frame at least every second"
    assert loss == "3" and verified == "0" and rows == ["0 100 1 RGB", "100 50 2 GRB"]
    assert int(memory) <= 4096 - 1024, "with room for the stack"


def test_ten_thousand_damaged_images_end_in_an_error_code(tool, tmp_path):
    """Cut short or changed anywhere: sanitizers see no fault, and none passes for whole."""
    for kind, count in (("steps", 4000), ("chase", 3000), ("glints", 3000)):
        codes = sample(kind, frames=60, pixels=60)
        (tmp_path / "image").write_bytes(flash_image(show(codes)))
        got = tool("mutate", tmp_path / "image", count, 77)
        assert got.returncode == 0 and not got.stderr, got.stderr.decode()
        ends = dict(reversed(part.split()) for part in got.stdout.decode().strip().split(", "))
        assert ends["ok"] == ends["other"] == "0"
        assert sum(map(int, ends.values())) == count


def test_every_truncation_is_an_error(tool, tmp_path):
    data = flash_image(show(sample("steps", frames=50, pixels=12)))
    for size in range(0, len(data), 7):
        (tmp_path / "image").write_bytes(data[:size])
        got = tool("decode", tmp_path / "image")
        assert got.returncode in (1, 2, 3) and not got.stderr


def test_decoder_is_small_and_asks_for_nothing():
    for source in SOURCES:
        text = source.read_text()
        assert len(text.splitlines()) < 300
        system = [x for x in text.splitlines() if x.startswith("#include <")]
        assert system in ([], ["#include <string.h>"])
        assert not any(word in text for word in ("malloc", "alloca", "goto", "double", "float "))


def test_no_flipped_bit_is_shown(tool, tmp_path):
    """Each frame given before the error is the true one: a second is checked before it is shown."""
    codes = sample("wave", frames=80, pixels=40)
    data = flash_image(show(codes))
    true, rng = codes.tobytes(), np.random.default_rng(3)
    for at in rng.integers(0, 8 * len(data), 30):
        bad = bytearray(data)
        bad[at // 8] ^= 1 << (at % 8)
        (tmp_path / "image").write_bytes(bad)
        got = tool("decode", tmp_path / "image")
        assert got.returncode in (1, 2, 3) and true.startswith(got.stdout), int(at)


def test_header_example_is_c_that_plays_and_catches_damage(tmp_path):
    """The example in lumenmap_flash.h, as it stands there, with functions round it."""
    if CC is None:
        pytest.skip("there is no C compiler")
    header = (C / "lumenmap_flash.h").read_text()
    example = header.split("static lmfi show;")[1].split("\n *\n")[0].replace(" *  ", "")
    declared, body = example.strip().split(";\n", 1)
    (tmp_path / "main.c").write_text(
        '#include "lumenmap_flash.h"\n#include <stdio.h>\n#include <string.h>\n'
        "static uint8_t data[1 << 20]; static uint32_t image_size;\n"
        "static int my_read(void *u, uint32_t o, void *to, uint32_t n)"
        "{ (void)u; if (o > image_size || n > image_size - o) return 1;"
        " memcpy(to, data + o, n); return 0; }\n"
        f"static lmfi show; {declared};\n"
        "static void send_to_pixels(const uint8_t *f)"
        "{ fwrite(f, 1, lmfi_frame_size(&show), stdout); }\n"
        'static void send_black(void) { puts("black"); }\n'
        'int main(int argc, char **argv) { FILE *f = fopen(argv[argc - 1], "rb");'
        " image_size = (uint32_t)fread(data, 1, sizeof data, f); fclose(f);\n"
        f"{body}\nreturn 0; }}\n"
    )
    command = [CC, *CFLAGS, f"-I{C}", "-o", tmp_path / "a", tmp_path / "main.c", *SOURCES]
    subprocess.run(command, check=True)
    codes = sample("chase", frames=80, pixels=40)
    data = bytearray(flash_image(show(codes)))
    (tmp_path / "image").write_bytes(data)
    got = subprocess.run([tmp_path / "a", tmp_path / "image"], capture_output=True, check=True)
    assert got.stdout == codes.tobytes()
    data[-5] ^= 4
    (tmp_path / "image").write_bytes(data)
    got = subprocess.run([tmp_path / "a", tmp_path / "image"], capture_output=True, check=True)
    assert got.stdout == codes[:40].tobytes() + b"black\n", "the first second only"


def test_headers_are_c_plus_plus_too(tmp_path):
    if (cxx := shutil.which("c++") or shutil.which("g++")) is None:
        pytest.skip("there is no C++ compiler")
    (tmp_path / "main.cpp").write_text(
        '#include "lumenmap_flash.h"\n#define LUMENMAP_ARRAY porch\n'
        '#include "lumenmap_array.h"\nint main() { lmfi d; return lmfi_next(&d, 0) + porch[0]; }\n'
    )
    flags = ["-Wall", "-Wextra", "-Wconversion", "-Wshadow", "-pedantic", "-Werror"]
    made = tmp_path / "main.o"
    subprocess.run([cxx, *flags, f"-I{C}", "-c", "-o", made, tmp_path / "main.cpp"], check=True)
    symbols = subprocess.run(["nm", made], capture_output=True, text=True, check=True).stdout
    assert "U lmfi_next" in symbols and "U porch" in symbols, "C's names"


def test_seconds_that_repeat_are_kept_once():
    one = sample("noise", frames=40, pixels=50)
    once, thrice = (len(flash_image(show(np.concatenate([one] * n)))) for n in (1, 3))
    assert once < thrice < 1.1 * once


def test_huffman_codes_are_prefix_free_and_complete():
    """Kraft's equality, and RFC 1951's own example: lengths 3,3,3,3,3,2,4,4 (section 3.2.2)."""
    codes = canonical_codes(np.array([3, 3, 3, 3, 3, 2, 4, 4], np.uint8))
    assert codes.tolist() == [0b010, 0b011, 0b100, 0b101, 0b110, 0b00, 0b1110, 0b1111]
    fibonacci = np.array(
        [
            1,
            1,
            2,
            3,
            5,
            8,
            13,
            21,
            34,
            55,
            89,
            144,
            233,
            377,
            610,
            987,
            1597,
            2584,
            4181,
            6765,
            10946,
        ]
    )
    lengths = code_lengths(fibonacci)
    assert lengths.max() <= 15 and (2.0 ** -lengths.astype(float)).sum() == 1


def test_tables_are_merged_while_that_saves_bits():
    """As by trying every pair at every step, by Shannon's entropy."""
    rng = np.random.default_rng(4)
    counts = rng.poisson(np.exp(rng.normal(0, 2, (3, 8)))[rng.integers(0, 3, 12)])

    def bits(group):
        total = counts[group].sum(axis=0)
        return -(total * np.log2(np.maximum(total, 1) / max(total.sum(), 1))).sum()

    groups = [[i] for i in range(len(counts))]
    while True:
        gains = {
            (a, b): bits(groups[a]) + bits(groups[b]) - bits(groups[a] + groups[b]) + 40
            for a, b in combinations(range(len(groups)), 2)
        }
        a, b = max(gains, key=gains.get)
        if gains[a, b] <= 0:
            break
        groups[a] += groups.pop(b)
    assert 2 < len(groups) < 8
    table = merge_tables(counts, 24, 40)
    assert [sorted(np.flatnonzero(table == k)) for k in range(len(groups))] == list(
        map(sorted, groups)
    )


def test_numbers_split_as_the_format_says():
    for direct, top in ((16, 255), (17, 32776)):
        value = np.arange(top + 1)
        c, extra, bits = split_number(value, direct)
        p, h = (c - direct) // 2, (c - direct) % 2
        back = np.where(c < direct, c, direct + 8 * (2.0**p - 1) + h * 2.0 ** (p + 2) + extra)
        assert (back == value).all() and (extra < 1 << bits).all()


@pytest.mark.parametrize("steps", [1, 3, 8])
def test_loss_is_what_was_asked_and_never_brighter(tool, tmp_path, steps):
    frames = show(sample("wave"))
    kept, lost = darken(frames, steps)
    off = frames.codes.astype(int) - kept.codes
    assert off.min() == 0 and 0 < off.max() == lost.most <= steps
    assert ((kept.codes > 0) == (frames.codes > 0)).all(), "a lit channel stays lit"
    data = flash_image(kept, loss=steps)
    assert decoded(tool, tmp_path, data) == kept.codes.tobytes()
    assert f"at most {lost.most} code steps darker" in str(lost)


def test_loss_that_saves_nothing_is_not_taken():
    frames = show(sample("wave"))
    exact = flash_image(frames)
    for steps in (0, 1, 4, 12):
        data, lost = pack(frames, steps)
        assert len(data) < len(exact) if lost.most else data == exact
    restless = show(100 + np.random.default_rng(2).integers(0, 5, (90, 40, 3)))
    data, lost = pack(restless, 4)
    assert lost.most == 4 and len(data) < len(flash_image(restless)) / 5


def test_loss_beyond_reason_is_refused(tmp_path):
    with pytest.raises(InputError, match="option loss is 33; expected 0 to 32 code steps"):
        format_named("flash").write(show(sample("dark")), tmp_path / "x", {"loss": "33"})
    assert not (tmp_path / "x").exists()


def test_c_array_compiles_to_the_same_bytes(tmp_path):
    if CC is None:
        pytest.skip("there is no C compiler")
    frames = show(sample("glints"))
    format_named("c_array").write(frames, tmp_path / "show.c", {"name": "porch"})
    main = (
        "#include <stdio.h>\n#define LUMENMAP_ARRAY porch\n"
        '#include "lumenmap_array.h"\nint main(void)'
        "{ return fwrite(porch, 1, porch_size, stdout) != porch_size; }\n"
    )
    (tmp_path / "main.c").write_text(main)
    subprocess.run(
        [CC, *CFLAGS, f"-I{C}", "-o", tmp_path / "a", tmp_path / "main.c", tmp_path / "show.c"],
        check=True,
    )
    got = subprocess.run([tmp_path / "a"], capture_output=True, check=True).stdout
    assert got == flash_image(frames)
    for name in ("2; system()", "int", "switch"):
        with pytest.raises(InputError, match="expected a C identifier"):
            format_named("c_array").write(frames, tmp_path / "x.c", {"name": name})


def test_image_knows_its_magic_and_its_size():
    data = flash_image(show(sample("dark")))
    assert data[:4] == b"LMFI" and struct.unpack_from("<I", data, 12)[0] == len(data)
    assert len(data) < 700, "a dark show is little more than its header"
    with pytest.raises(InputError, match="65536 pixels"):
        flash_image(show(np.zeros((1, 65536, 3), np.uint8)))


EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
SHOWS = [p for p in sorted(EXAMPLES.glob("*/*.toml")) if "[[cue]]" in p.read_text()]


@pytest.mark.parametrize("path", SHOWS, ids=lambda p: p.stem)
def test_every_example_show_comes_back_byte_for_byte(tool, tmp_path, path, exported):
    whole = exported(path)
    frames = replace(whole, codes=whole.codes[:400])
    image = flash_image(frames)
    assert decoded(tool, tmp_path, image) == frames.codes.tobytes()
    lzss = min(
        len(heatshrink2.compress(frames.codes.tobytes(), window_sz2=10, lookahead_sz2=n))
        for n in (4, 5)
    )
    assert len(image) <= 0.7 * lzss, f"{len(image)} beside {lzss} bytes of LZSS"
