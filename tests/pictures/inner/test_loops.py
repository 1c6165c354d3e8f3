"""The loops in C against those in numpy, Pillow's GIF decoder, scipy's matrices, coloraide."""

import io
import shutil
import subprocess
import sys

import numpy as np
import pytest
from coloraide import Color
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy import sparse

from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.encode.colour_cells import CELLS, cell
from lumenmap.pictures.encode.lookup import Lookup
from lumenmap.pictures.inner import SparseRows, plain

if shutil.which("cc"):
    from lumenmap.pictures.inner import compiled
else:
    compiled = pytest.importorskip(
        "lumenmap.pictures.inner.compiled",
        reason="lumenmap was installed without a C compiler",
        exc_type=ImportError,
    )


def matrix(rng, rows, columns):
    return SparseRows.of(
        sparse.random_array((rows, columns), density=0.2, format="csr", dtype=np.float32, rng=rng)
    )


def painters(rng, pixels=1500, nodes=40, lamps=30):
    mix, images = matrix(rng, pixels, nodes), matrix(rng, pixels, lamps)
    base = rng.random((pixels, 3)).astype(np.float32) * np.float32(0.1)
    touched = np.flatnonzero(rng.random(pixels) < 0.7)
    given = mix, images, base, touched, np.float32(STEPS * 0.8), tone_table()
    return given, [module.Painter(*given) for module in (compiled, plain)]


def apart(first, second):
    """The largest difference of packed colours in any channel."""
    codes = [each.view(np.uint8).astype(int) for each in (first, second)]
    return np.abs(codes[0] - codes[1])


@pytest.mark.parametrize("frames", [*range(1, 9), 15, 16])
def test_both_paint_alike_and_as_a_matrix_product(frames):
    rng = np.random.default_rng(frames)
    (mix, images, base, touched, scale, table), both = painters(rng)
    nodes, lamps = (rng.random((n, 3 * frames)).astype(np.float32) ** 3 for n in (40, 30))
    outs = [np.full((frames, len(base)), 7, np.uint32) for _ in both]
    for painter, out in zip(both, outs, strict=True):
        for first in range(0, frames, painter.BLOCK):
            block = slice(3 * first, 3 * (first + painter.BLOCK))
            painter.paint(nodes[:, block], lamps[:, block], out[first : first + painter.BLOCK])
    # A compiler that fuses products and sums may round some light to the next code.
    assert apart(*outs).max() <= 1 and (apart(*outs) > 0).mean() < 1e-3
    light = mix.matrix() @ nodes.astype(float) + images.matrix() @ lamps.astype(float)
    light += np.tile(base, frames)
    codes = table[np.clip(light * float(scale), 0, 65535).astype(int)].reshape(-1, frames, 3)
    got = outs[0].view(np.uint8).reshape(frames, -1, 4)[:, touched, :3]
    assert np.abs(got.astype(int) - codes.transpose(1, 0, 2)[:, touched]).max() <= 1
    rest = np.setdiff1d(np.arange(len(base)), touched)
    assert (outs[0][:, rest] == 7).all()


def test_both_show_the_same_without_lamps():
    _, (first, second) = painters(np.random.default_rng(3))
    assert (first.unlit() == second.unlit()).all() and first.unlit().max() < 1 << 24


def test_light_beyond_the_table_is_white_and_below_it_black():
    rows = SparseRows.of(sparse.csr_array(np.eye(4, dtype=np.float32)))
    none = SparseRows.of(sparse.csr_array((4, 1), dtype=np.float32))
    base = np.zeros((4, 3), np.float32)
    painter = compiled.Painter(rows, none, base, np.arange(4), np.float32(STEPS), tone_table())
    nodes = np.repeat(np.array([[1e30], [np.inf], [-5.0], [np.nan]], np.float32), 3, axis=1)
    out = np.empty((1, 4), np.uint32)
    with np.errstate(all="ignore"):
        painter.paint(nodes, np.zeros((1, 3), np.float32), out)
    assert out.tolist() == [[0xFFFFFF, 0xFFFFFF, 0, 0]]


def moved(module, table, before, now, indices):
    """Which pixels a module's loops move, and the indices then."""
    indices = indices.copy()
    spots = module.Changes(len(now)).moved(table, before, now, indices)
    return spots.tolist(), indices.tolist()


@given(st.integers(0, 1 << 30), st.integers(1, 60), st.integers(1, 40))
@settings(max_examples=60, deadline=None)
def test_both_move_the_same_pixels(seed, colours, step):
    """Pictures that change here and there, by a little and by much."""
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (colours, 3), np.uint8)
    before = rng.integers(0, 1 << 24, 700, np.uint32)
    steps = rng.integers(-step, step + 1, (700, 3)) * (rng.random((700, 1)) < 0.6)
    now = before.view(np.uint8).reshape(-1, 4).astype(int)
    now[:, :3] = np.clip(now[:, :3] + steps, 0, 255)
    now[:, 3] = rng.integers(0, 256, 700)  # doesn't count
    now = now.astype(np.uint8).view(np.uint32).ravel()
    indices = rng.integers(0, colours, 700).astype(np.uint8)
    tables = [Lookup(palette).table for _ in range(2)]
    got = [
        moved(module, table, before, now, indices)
        for module, table in zip((plain, compiled), tables, strict=True)
    ]
    assert got[0] == got[1]
    differ = np.flatnonzero((before ^ now) & 0xFFFFFF)
    assert set(got[0][0]) <= set(differ.tolist())
    for kept, made in zip(*((t.places, t.alone) for t in tables), strict=True):
        assert np.allclose(kept, made, atol=1e-5)
    known = np.flatnonzero(tables[0].places[:, 3])
    assert known.tolist() == sorted(set(cell(now[differ]).tolist()))


@pytest.mark.parametrize("module", [plain, compiled])
@pytest.mark.parametrize(
    ("row", "expected"),
    [((66, 40, 66, 40), []), ((40, 66, 66, 40), [1, 2]), ((40, 80, 40, 40), [1])],
)
def test_a_pixel_by_itself_moves_only_if_it_is_much_too_far_off(module, row, expected):
    """Greys 40 and 80: 66 is nearer to 80, and too far from 40, but not much too far."""
    table = Lookup(np.array([[40] * 3, [80] * 3], np.uint8)).table
    before, now = (np.array(each, np.uint32) * np.uint32(0x010101) for each in ([40] * 4, row))
    spots, indices = moved(module, table, before, now, np.zeros(4, np.uint8))
    assert spots == expected and np.flatnonzero(indices).tolist() == expected


def test_both_learn_the_same_and_what_the_definition_says():
    """Places by coloraide's OKLab, of the middle of a cell: within a code of the colour."""
    rng = np.random.default_rng(8)
    palette = rng.integers(0, 256, (200, 3), np.uint8)
    colours = rng.integers(0, 1 << 24, 3000, np.uint32)
    tables = [Lookup(palette).table for _ in range(2)]
    plain.learn(tables[0], colours)
    compiled.learn(tables[1], colours)
    cells = cell(colours)
    for one, other in zip(*([t.places, t.alone] for t in tables), strict=True):
        assert np.allclose(one[cells], other[cells], atol=2e-5)
    assert (tables[0].near[cells] == tables[1].near[cells]).mean() > 0.999
    for colour in colours[:40].tolist():
        codes = colour & 255, colour >> 8 & 255, colour >> 16
        true = Color("srgb", [c / 255 for c in codes]).convert("oklab").coords()
        assert np.abs(tables[1].places[cell(np.uint32(colour)), :3] - true).max() < 0.012


@pytest.mark.parametrize("places", [1, 2, 255, 256])
def test_both_find_the_nearest_place(places):
    rng = np.random.default_rng(places)
    here, there = (rng.random((n, 3)).astype(np.float32) for n in (2000, places))
    true = np.linalg.norm(here[:, None].astype(float) - there, axis=-1)
    for module in (plain, compiled):
        picked = true[np.arange(len(here)), module.nearest(here, there)]
        assert np.abs(picked - true.min(1)).max() < 1e-4


def decoded(image, width, height):
    """The indices that Pillow reads from an image of a GIF."""
    screen = b"GIF89a" + np.array([width, height], "<u2").tobytes() + b"\xf7\0\0"
    table = np.repeat(np.arange(256, dtype=np.uint8), 3).tobytes()
    with Image.open(io.BytesIO(screen + table + image + b";")) as seen:
        return np.asarray(seen)


PARTS = {
    "one": np.array([[9]]),
    "a run": np.full((300, 400), 255),
    "noise": np.random.default_rng(1).integers(0, 256, (300, 400)),
    "few": np.random.default_rng(2).integers(0, 3, (200, 700)),
    "rows": np.repeat(np.arange(250)[:, None], 99, axis=1),
    "wide": np.random.default_rng(3).integers(0, 5, (1, 65535)),
}


@pytest.mark.parametrize("part", PARTS.values(), ids=PARTS)
@pytest.mark.parametrize("same", [255, 0, 1])
def test_pillow_reads_what_was_compressed(part, same):
    part = part.astype(np.uint8)
    height, width = part.shape
    image = compiled.image(part, same)
    assert (decoded(image, width, height) == part).all()
    assert len(image) <= len(plain.image(part, same)) * 1.001 + 2  # Pillow's own


@given(st.integers(0, 1 << 30), st.integers(1, 90), st.integers(1, 90), st.integers(1, 256))
@settings(max_examples=80, deadline=None)
def test_any_indices_are_read_back(seed, width, height, colours):
    part = np.random.default_rng(seed).integers(0, colours, (height, width)).astype(np.uint8)
    for same in (0, 255):
        assert (decoded(compiled.image(part, same), width, height) == part).all()


@given(st.integers(0, 1 << 30), st.integers(1, 700), st.floats(0.001, 1))
@settings(max_examples=80, deadline=None)
def test_both_write_the_box_around_what_changed(seed, width, share):
    rng = np.random.default_rng(seed)
    indices = rng.integers(0, 4, (37, width)).astype(np.uint8)
    spots = np.flatnonzero(rng.random(indices.size) < share)
    if not len(spots):
        return
    box = compiled.image(indices, 255, spots)
    assert box[:10] == plain.image(indices, 255, spots)[:10]
    part = np.full(indices.shape, 255, np.uint8)
    part.ravel()[spots] = indices.ravel()[spots]
    left, top, columns, rows = np.frombuffer(box[1:9], "<u2").tolist()
    expected = part[top : top + rows, left : left + columns].copy()
    part[top : top + rows, left : left + columns] = 255
    assert (part == 255).all()
    placed = box[:1] + b"\0\0\0\0" + box[5:]
    assert (decoded(placed, columns, rows) == expected).all()


def test_the_last_code_is_as_wide_as_the_decoder_expects():
    """At every length near those where codes get wider, and where the table is full."""
    noise = np.random.default_rng(4).integers(0, 256, 5200).astype(np.uint8)
    for count in (*range(250, 262), *range(762, 774), *range(3830, 3846), *range(5190, 5200)):
        part = noise[None, :count]
        assert (decoded(compiled.image(part, 255), count, 1) == part).all(), count


def test_arrays_that_do_not_fit_are_refused():
    loops, few = compiled._loops, np.zeros(3, np.uint8)
    with pytest.raises(ValueError, match="image: arrays that don't fit"):
        loops.image(np.zeros(7, np.uint8), np.zeros(0, np.intp), 4, 255)
    for spots in ([9], [2, 1], [-1], [1, 1]):
        with pytest.raises(ValueError, match="image: arrays"):
            loops.image(np.zeros(8, np.uint8), np.array(spots, np.intp), 4, 255)
    with pytest.raises(ValueError, match="here has items of 8 bytes; expected 4"):
        loops.nearest(np.zeros(3), np.zeros(3), few)
    with pytest.raises(ValueError, match="nearest: arrays"):
        loops.nearest(np.zeros(3, np.float32), np.zeros(3, np.float32), few)
    with pytest.raises((ValueError, BufferError), match="contiguous"):
        loops.nearest(np.zeros(6, np.float32)[::2], np.zeros(3, np.float32), few[:1])
    table = Lookup(np.zeros((1, 3), np.uint8)).table
    colours = np.zeros(5, np.uint32)
    with pytest.raises(ValueError, match="moved: arrays"):
        compiled.Changes(4).moved(table, colours, colours, np.zeros(5, np.uint8))
    with pytest.raises(ValueError, match="moved: arrays"):
        compiled.Changes(5).moved(table, colours[:4], colours, np.zeros(5, np.uint8))
    small = table._replace(places=np.zeros((CELLS // 2, 4), np.float32))
    short = table._replace(near=table.near[:-1])
    for wrong in (small, short, table._replace(slack=np.zeros(2, np.float32))):
        with pytest.raises(ValueError, match="a table of cells: arrays"):
            compiled.learn(wrong, colours)
    painter = painters(np.random.default_rng(0))[1][0]
    nodes, lamps = np.zeros((40, 3), np.float32), np.zeros((30, 3), np.float32)
    with pytest.raises(ValueError, match="paint: arrays"):
        painter.paint(nodes, lamps, np.zeros((2, 1500), np.uint32))
    with pytest.raises(ValueError, match="nodes and lamps"):
        painter.paint(nodes[:-1], lamps, np.zeros((1, 1500), np.uint32))
    with pytest.raises((ValueError, BufferError, TypeError), match="read-?only|writ"):
        fixed = np.zeros((1, 1500), np.uint32)
        fixed.flags.writeable = False
        painter.paint(nodes, lamps, fixed)


@pytest.mark.parametrize("what", ["column", "ends", "short", "touched"])
def test_a_matrix_that_points_outside_is_refused(what):
    (mix, images, base, touched, *rest), _ = painters(np.random.default_rng(5))
    if what == "column":
        mix = mix._replace(columns=20)
    elif what == "ends":
        mix = mix._replace(indptr=mix.indptr[::-1].copy())
    elif what == "short":
        mix = mix._replace(indices=mix.indices[:-1])
    else:
        touched = touched + len(base)
    with pytest.raises(ValueError, match=r"rows|column|outside"):
        compiled.Painter(mix, images, base, touched, *rest)


def test_without_the_compiled_module_those_in_numpy_are_used(tmp_path):
    """As where there was no compiler: the picture is the same but for some equally near colours."""
    script = (
        "import sys; sys.modules['lumenmap.pictures.inner._loops'] = None\n"
        "from lumenmap.pictures import inner; assert 'plain' in inner.Painter.__module__\n"
        "from tests.pictures.test_gif import clip, write_gif; import pathlib\n"
        "write_gif(pathlib.Path(sys.argv[1]), clip(30), 20)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script, tmp_path / "plain.gif"], capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    from tests.pictures.test_gif import clip, write_gif

    write_gif(tmp_path / "usual.gif", clip(30), 20)
    with Image.open(tmp_path / "plain.gif") as plainly, Image.open(tmp_path / "usual.gif") as seen:
        assert plainly.n_frames == seen.n_frames
        for n in range(seen.n_frames):
            plainly.seek(n)
            seen.seek(n)
            codes = [np.asarray(each.convert("RGB")).astype(int) for each in (plainly, seen)]
            assert np.abs(codes[0] - codes[1]).max() <= 8
