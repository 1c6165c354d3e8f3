"""A drawing goes into the kind of file that its name says."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.drawing.canvas import Drawing
from lumenmap.drawing.write import write_drawing

PAGE = Drawing(20, 10)


@pytest.mark.parametrize(
    ("name", "begins"), [("a.svg", b"<svg"), ("a.PNG", b"\x89PNG"), ("a.pdf", b"%PDF")]
)
def test_the_file_is_what_its_name_says(tmp_path, name, begins):
    write_drawing(PAGE, tmp_path / name, "A page")
    assert (tmp_path / name).read_bytes().startswith(begins)
    assert [f.name for f in tmp_path.iterdir()] == [name], "no temporary file is left"


@pytest.mark.parametrize("name", ["a.bmp", "a", "svg"])
def test_another_kind_is_refused(tmp_path, name):
    with pytest.raises(InputError, match=rf"^{name}: expected a file name ending in .svg, .png"):
        write_drawing(PAGE, tmp_path / name, "A page")
    assert not list(tmp_path.iterdir())
