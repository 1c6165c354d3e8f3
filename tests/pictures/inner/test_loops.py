"""The loops in C against those in numpy, Pillow's GIF decoder, scipy's matrices, coloraide."""

import io
import shutil
import subprocess
import sys

import numpy as np
import pytest
from coloraide import Color
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from PIL import Image
from scipy import sparse

from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.encode.colour_cells import CELLS, cell
from lumenmap.pictures.encode.lookup import Lookup
from lumenmap.pictures.inner import Mixing, SparseRows, plain

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
    for module, painter, out in zip((compiled, plain), both, outs, strict=True):
        for first in range(0, frames, module.BLOCK):
            block = slice(3 * first, 3 * (first + module.BLOCK))
            painter.paint(nodes[:, block], lamps[:, block], out[first : first + module.BLOCK])
    # A compiler that fuses products and sums may round some light to the next code.
    assert apart(*outs).max() <= 1 and (apart(*outs) > 0).mean() < 1e-3
    light = mix.matrix() @ nodes.astype(float) + images.matrix() @ lamps.astype(float)
    light += np.tile(base, frames)
    codes = table[np.clip(light * float(scale), 0, 65535).astype(int)].reshape(-1, frames, 3)
    got = outs[0].view(np.uint8).reshape(frames, -1, 4)[:, touched, :3]
    assert np.abs(got.astype(int) - codes.transpose(1, 0, 2)[:, touched]).max() <= 1
    rest = np.setdiff1d(np.arange(len(base)), touched)
    assert (outs[0][:, rest] == 7).all()


@pytest.mark.parametrize("frames", [*range(1, 9), 15, 16])
def test_both_light_nodes_alike_and_as_a_matrix_product(frames):
    rng = np.random.default_rng(frames)
    wash = matrix(rng, 70, 30)
    colours = rng.random((70, 3)).astype(np.float32)
    groups = rng.random((30, 3 * frames)).astype(np.float32)
    true = (wash.matrix().astype(float) @ groups) * np.tile(colours, frames)
    for module in (compiled, plain):
        nodes = module.Nodes(wash, colours)
        block = 3 * module.BLOCK
        parts = [nodes.lit(groups[:, i : i + block]) for i in range(0, 3 * frames, block)]
        assert np.allclose(np.concatenate(parts, axis=1), true, rtol=1e-5, atol=1e-7)


@pytest.mark.parametrize("columns", [1, 3, 8, 9, 24, 47, 48, 49, 100])
def test_both_multiply_as_scipy_does(columns):
    rng = np.random.default_rng(columns)
    rows = matrix(rng, 70, 30)
    values = rng.random((30, columns)).astype(np.float32)
    true = rows.matrix().astype(float) @ values
    for module in (compiled, plain):
        assert np.allclose(module.product(rows, values), true, rtol=1e-5, atol=1e-7)
    with pytest.raises(ValueError, match="expected an array of 30 rows"):
        compiled.product(rows, values[1:])
    with pytest.raises(ValueError, match="a column that isn't there"):
        compiled.product(rows._replace(columns=1), values[:1])


@given(st.integers(0, 60), st.integers(1, 6), st.integers(1, 5), st.randoms(use_true_random=False))
def test_entries_are_gathered_as_scipy_does(count, rows, columns, random):
    row = np.array([random.randrange(rows) for _ in range(count)], np.int32)
    column = np.array([random.randrange(columns) for _ in range(count)], np.int64)
    value = np.array([random.randrange(1, 9) for _ in range(count)], np.float32)
    found = SparseRows.gathered(row, column, value, (rows, columns))
    true = sparse.coo_array((value, (row, column)), shape=(rows, columns)).tocsr()
    found.check(rows)
    assert (found.matrix().toarray() == true.toarray()).all()
    assert found.nnz == true.nnz and found.data.dtype == np.float32
    inside = np.diff(found.indices)[np.diff(np.repeat(np.arange(rows), np.diff(found.indptr))) == 0]
    assert (inside > 0).all()  # each row's columns are in order


@pytest.mark.parametrize(("touched", "why"), [([0, 4], "outside"), ([1, 0], "in order")])
def test_pixels_are_refused_that_arent_in_the_picture_or_in_order(touched, why):
    rows = matrix(np.random.default_rng(1), 4, 3)
    base, table = np.zeros((4, 3), np.float32), tone_table()
    with pytest.raises(ValueError, match=why):
        compiled.Painter(rows, rows, base, np.array(touched), np.float32(1), table)


def test_light_of_nodes_is_refused_that_doesnt_fit():
    rows = matrix(np.random.default_rng(1), 4, 3)
    colours = np.ones((4, 3), np.float32)
    with pytest.raises(ValueError, match="so many rows"):
        compiled.Nodes(rows, colours[:3])
    with pytest.raises(ValueError, match="a column that isn't there"):
        compiled.Nodes(rows._replace(columns=1), colours)
    with pytest.raises(ValueError, match="expected an array of 3 rows"):
        compiled.Nodes(rows, colours).lit(np.zeros((2, 3), np.float32))
    with pytest.raises(ValueError, match="product: arrays that don't fit"):
        compiled.Nodes(rows, colours).lit(np.zeros((3, 51), np.float32))


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


def moved(module, table, before, frames, indices):
    """What a module's loops change from frame to frame, the boxes, and the indices in the end."""
    indices = indices.copy()
    changes, boxes = module.moved(table, before, frames, indices, 255)
    return changes.tolist(), boxes.tolist(), indices.tolist()


def wavering(rng, frames, height, width, step):
    """(T, H, W) packed frames that change here and there; the highest byte is noise."""
    before = rng.integers(0, 256, (height, width, 4))
    made = []
    for _ in range(frames):
        some = rng.random((height, width, 1)) < rng.choice([0, 0.02, 0.6])
        before = np.clip(before + some * rng.integers(-step, step + 1, before.shape), 0, 255)
        before[..., 3] = rng.integers(0, 256, (height, width))
        made.append(before.astype(np.uint8).view(np.uint32)[..., 0])
    return np.stack(made)


def undecided(table, count):
    """Whether rounding decides somewhere: which colour is nearer, or whether an old one is kept."""
    known = np.flatnonzero(table.places[:, 3])
    here = table.places[known].astype(float)
    away = ((here[:, None, :3] - table.palette[:count, :3]) ** 2).sum(-1)
    gaps = [np.diff(np.sort(away)[:, :2]), away - here[:, 3:], away - table.alone[known, None]]
    return any((np.abs(gap) < 3e-7).any() for gap in gaps)


@given(st.integers(0, 1 << 30), st.integers(1, 60), st.integers(1, 40), st.integers(1, 150))
@settings(max_examples=60, deadline=None)
def test_both_move_the_same_pixels(seed, colours, step, width):
    rng = np.random.default_rng(seed)
    palette = rng.integers(0, 256, (colours, 3), np.uint8)
    before, *frames = wavering(rng, 6, 9, width, step)
    frames = np.stack(frames)
    indices = rng.integers(0, colours, before.shape).astype(np.uint8)
    tables = [Lookup(palette).table for _ in range(2)]
    got = [
        moved(module, table, before, frames, indices)
        for module, table in zip((plain, compiled), tables, strict=True)
    ]
    assume(not undecided(tables[0], colours))
    assert got[0] == got[1]
    for kept, made in zip(*((t.places, t.alone) for t in tables), strict=True):
        assert np.allclose(kept, made, atol=1e-5)
    differ = (np.stack([before, *frames[:-1]]) ^ frames) & 0xFFFFFF != 0
    known = np.flatnonzero(tables[0].places[:, 3])
    assert known.tolist() == sorted(set(cell(frames[differ]).tolist()))
    changes, boxes = np.array(got[1][0]), got[1][1]
    assert (differ | (changes == 255)).all()
    for changed, (left, top, across, down) in zip(changes, boxes, strict=True):
        there = np.argwhere(changed != 255)
        around = [*there.min(0)[::-1], *np.ptp(there, axis=0)[::-1] + 1] if len(there) else [0] * 4
        assert [left, top, across, down] == around
        indices = np.where(changed == 255, indices, changed)
    assert indices.tolist() == got[1][2]


@pytest.mark.parametrize("module", [plain, compiled])
@pytest.mark.parametrize(
    ("row", "expected"),
    [
        ((66, 40, 66, 40), []),
        ((40, 66, 66, 40), [1, 2]),
        ((40, 80, 40, 40), [1]),
        ((66, 66, 40, 66), [0, 1]),
    ],
)
def test_a_pixel_by_itself_moves_only_if_it_is_much_too_far_off(module, row, expected):
    """Greys 40 and 80: 66 is nearer to 80, and too far from 40, but not much too far.

    Its neighbours are those of its row: the last of a row isn't next to the first of the next.
    """
    table = Lookup(np.array([[40] * 3, [80] * 3], np.uint8)).table
    grey = np.array([[40] * 4, row, row, [40] * 4], np.uint32) * np.uint32(0x010101)
    before, frames = np.full_like(grey, 0x282828), grey[None]
    changes, boxes, indices = moved(module, table, before, frames, np.zeros((4, 4), np.uint8))
    assert all(np.flatnonzero(indices[y]).tolist() == expected for y in (1, 2))
    assert boxes == [[expected[0], 1, len(expected), 2] if expected else [0] * 4]
    assert np.argwhere(np.array(changes[0]) == 1).tolist() == [
        [y, x] for y in (1, 2) for x in expected
    ]


@pytest.mark.parametrize("module", [plain, compiled])
def test_frames_that_come_one_by_one_are_mapped_as_those_that_come_together(module):
    rng = np.random.default_rng(6)
    palette = rng.integers(0, 256, (50, 3), np.uint8)
    before, *frames = wavering(rng, 12, 20, 70, 30)
    first = rng.integers(0, 50, before.shape).astype(np.uint8)
    together = moved(module, Lookup(palette).table, before, np.stack(frames), first)
    table, indices, parts = Lookup(palette).table, first.copy(), []
    for frame in frames:
        parts += module.moved(table, before, frame[None], indices, 255).changes.tolist()
        before = frame
    assert parts == together[0] and indices.tolist() == together[2]


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


def test_both_mix_the_same_two_colours():
    """The second nearest of all, and the share at which the line between both is met (Euclid)."""
    rng = np.random.default_rng(9)
    palette = rng.integers(0, 256, (80, 3), np.uint8)
    colours = rng.integers(0, 1 << 24, 2000, np.uint32)
    tables = [Lookup(palette).table for _ in range(2)]
    mixing = Mixing(shows=0.05, solid=0.25)
    for module, table in zip((plain, compiled), tables, strict=True):
        module.learn(table, colours[:900])  # without mixtures, which are worked out later
        module.learn(table, colours, mixing)
    cells = np.unique(cell(colours))
    assert (tables[0].second[cells] == tables[1].second[cells]).mean() > 0.999
    shares = [t.share[cells].astype(int) for t in tables]
    assert np.abs(shares[0] - shares[1]).max() <= 1
    table = tables[1]
    places = table.colours.T.astype(float)
    for c, share in zip(cells[:300], shares[1][:300], strict=True):
        here = table.places[c, :3].astype(float)
        near, second = np.argsort(np.linalg.norm(places - here, axis=1))[:2]
        assert {near, second} == {table.near[c], table.second[c]}
        line = places[second] - places[near]
        at = (here - places[near]) @ line / (line @ line)
        shows = np.linalg.norm(line) > 0.05
        assert share == pytest.approx(255 * np.clip(2 * (at - 0.25), 0, 0.5) * shows, abs=1.01)


@pytest.mark.parametrize("module", [plain, compiled])
def test_a_palette_of_one_colour_mixes_nothing(module):
    table = Lookup(np.zeros((1, 3), np.uint8)).table
    colours = np.array([0, 0xFFFFFF], np.uint32)
    module.learn(table, colours, Mixing(0.01, 0.25))
    assert table.share[cell(colours)].tolist() == [0, 0]
    assert table.second[cell(colours)].tolist() == [0, 0]


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


def whole(module, part, same):
    """A module's image of all of a part."""
    height, width = part.shape
    return module.image(part, (0, 0, width, height), same)


@pytest.mark.parametrize("part", PARTS.values(), ids=PARTS)
@pytest.mark.parametrize("same", [255, 0, 1])
def test_pillow_reads_what_was_compressed(part, same):
    part = part.astype(np.uint8)
    height, width = part.shape
    image = whole(compiled, part, same)
    assert (decoded(image, width, height) == part).all()
    assert len(image) <= len(whole(plain, part, same)) * 1.001 + 2  # Pillow's own


@given(st.integers(0, 1 << 30), st.integers(1, 90), st.integers(1, 90), st.integers(1, 256))
@settings(max_examples=80, deadline=None)
def test_any_indices_are_read_back(seed, width, height, colours):
    part = np.random.default_rng(seed).integers(0, colours, (height, width)).astype(np.uint8)
    for same in (0, 255):
        assert (decoded(whole(compiled, part, same), width, height) == part).all()


@given(st.integers(0, 1 << 30), st.data())
@settings(max_examples=80, deadline=None)
def test_both_write_a_box(seed, data):
    width, height = (data.draw(st.integers(1, n)) for n in (700, 40))
    left, top = (data.draw(st.integers(0, n - 1)) for n in (width, height))
    across, down = data.draw(st.integers(1, width - left)), data.draw(st.integers(1, height - top))
    indices = np.random.default_rng(seed).integers(0, 4, (height, width)).astype(np.uint8)
    image = compiled.image(indices, (left, top, across, down), 255)
    assert image[:10] == plain.image(indices, (left, top, across, down), 255)[:10]
    assert np.frombuffer(image[1:9], "<u2").tolist() == [left, top, across, down]
    placed = image[:1] + b"\0\0\0\0" + image[5:]
    expected = indices[top : top + down, left : left + across]
    assert (decoded(placed, across, down) == expected).all()


def test_the_last_code_is_as_wide_as_the_decoder_expects():
    """At every length near those where codes get wider, and where the table is full."""
    noise = np.random.default_rng(4).integers(0, 256, 5200).astype(np.uint8)
    for count in (*range(250, 262), *range(762, 774), *range(3830, 3846), *range(5190, 5200)):
        part = noise[None, :count]
        assert (decoded(whole(compiled, part, 255), count, 1) == part).all(), count


def test_arrays_that_do_not_fit_are_refused():
    loops, few = compiled._loops, np.zeros(3, np.uint8)
    for size, *box in (
        (7, 4, 0, 0, 1, 1), (8, 4, 0, 0, 0, 1), (8, 4, 0, 0, 1, 0), (8, 4, -1, 0, 2, 1),
        (8, 4, 0, -1, 1, 2), (8, 4, 1, 0, 4, 1), (8, 4, 0, 1, 1, 2), (8, 0, 0, 0, 1, 1),
        (8, 4, 1, 0, 2**31 - 1, 1), (8, 4, 0, 0, 1, 2**31 - 1),
    ):  # fmt: skip
        with pytest.raises(ValueError, match="image: arrays that don't fit"):
            loops.image(np.zeros(size, np.uint8), *box, 255)
    with pytest.raises(ValueError, match="image: arrays"):
        loops.image(np.zeros(8, np.uint8), 4, 0, 0, 1, 1, 256)
    with pytest.raises(ValueError, match="here has items of 8 bytes; expected 4"):
        loops.nearest(np.zeros(3), np.zeros(3), few)
    with pytest.raises(ValueError, match="nearest: arrays"):
        loops.nearest(np.zeros(3, np.float32), np.zeros(3, np.float32), few)
    with pytest.raises((ValueError, BufferError), match="contiguous"):
        loops.nearest(np.zeros(6, np.float32)[::2], np.zeros(3, np.float32), few[:1])
    table = Lookup(np.zeros((1, 3), np.uint8)).table
    colours = np.zeros(5, np.uint32)
    before, indices = np.zeros((2, 3), np.uint32), np.zeros((2, 3), np.uint8)
    for frames, width in (((1, 2, 4), 3), ((1, 3, 3), 3), ((2, 2, 3), 0), ((2, 2, 3), 4)):
        given = np.zeros(frames, np.uint32), indices, np.zeros(frames, np.uint8)
        with pytest.raises(ValueError, match="moved: arrays"):
            loops.moved(table, before, *given, np.zeros((frames[0], 4), np.int32), width, 255)
    with pytest.raises(ValueError, match="moved: arrays"):
        compiled.moved(table, before[:1], np.zeros((1, 2, 3), np.uint32), indices, 255)
    small = table._replace(places=np.zeros((CELLS // 2, 4), np.float32))
    short = [table._replace(**{k: getattr(table, k)[:-1]}) for k in ("near", "second", "share")]
    for wrong in (small, *short, table._replace(slack=np.zeros(2, np.float32))):
        with pytest.raises(ValueError, match="a table of cells: arrays"):
            compiled.learn(wrong, colours)
    painter = painters(np.random.default_rng(0))[1][0]
    nodes, lamps = np.zeros((40, 3), np.float32), np.zeros((30, 3), np.float32)
    with pytest.raises(ValueError, match="nodes and lamps: expected arrays of .40, 6. and .30, 6."):
        painter.paint(nodes, lamps, np.zeros((2, 1500), np.uint32))
    with pytest.raises(ValueError, match="paint: arrays"):
        painter.paint(nodes, lamps, np.zeros((1, 1499), np.uint32))
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


@pytest.mark.parametrize("count", [*range(1, 20), 248, 255, 256])
def test_of_places_equally_near_it_is_the_first(count):
    """Whole numbers, whose distances don't need rounding; numpy's argmin takes the first, too."""
    rng = np.random.default_rng(count)
    here, places = rng.integers(0, 4, (300, 3)), rng.integers(0, 4, (count, 3))
    away = ((here[:, None] - places) ** 2).sum(-1)
    for module in (compiled, plain):
        near = module.nearest(here.astype(np.float32), places.astype(np.float32))
        assert near.tolist() == away.argmin(1).tolist()
