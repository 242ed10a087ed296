"""Files of strangers, as the workers read them."""

import pytest

from coach.service.jobs import read_file

TUNE = b'X:1\nT:Gate\nM:4/4\nL:1/4\nK:G\n"G"GABc|dedB|"D7"AFAF|"G"G4|]\n'


@pytest.mark.parametrize(
    "name", ["", "..", ".", "../../a.abc", "a\\b.abc", "é" * 80, "a\x00b.abc", "a\nb.abc", "\U0001d122" * 80 + ".abc"]
)
def test_a_file_may_have_any_name(name: str) -> None:
    tunes, complaints = read_file(TUNE, name)

    assert ([tune.title for tune in tunes], complaints) == (["Gate"], ())
