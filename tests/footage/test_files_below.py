"""All that lies in a folder is found, in natural order, and what is passed over is told."""

import pytest

from desk.errors import MediaError
from desk.footage.files_below import files_below


def put(path):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("x")
    return path


def test_whatever_lies_there_in_natural_order(tmp_path):
    names = [
        "clip10.mov",
        "clip2.mov",
        "raw.xyz",
        "PRIVATE/M4ROOT/CLIP/C0001.MP4",
        ".hidden.mov",
        "notes.txt",
    ]
    for name in names:
        put(tmp_path / name)
    found = files_below(tmp_path)
    assert [path.relative_to(tmp_path).as_posix() for path in found.files] == [
        "clip2.mov",
        "clip10.mov",
        "notes.txt",
        "raw.xyz",
        "PRIVATE/M4ROOT/CLIP/C0001.MP4",
    ]
    assert found.folders == (
        tmp_path,
        tmp_path / "PRIVATE",
        tmp_path / "PRIVATE" / "M4ROOT",
        tmp_path / "PRIVATE" / "M4ROOT" / "CLIP",
    )
    assert found.remarks == ()


def test_an_empty_folder_is_no_fault(tmp_path):
    assert files_below(tmp_path).files == ()


def test_a_link_to_nothing_is_told_once(tmp_path):
    (tmp_path / "gone.mov").symlink_to(tmp_path / "nowhere")
    (remark,) = files_below(tmp_path).remarks
    assert "is a link to nothing" in remark


@pytest.mark.parametrize(("name", "code"), [("nowhere", "media.missing"), ("file", "media.refused")])
def test_what_is_no_folder(tmp_path, name, code):
    put(tmp_path / "file")
    with pytest.raises(MediaError) as told:
        files_below(tmp_path / name)
    assert told.value.code == code
