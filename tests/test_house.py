"""Rules of the house that a tool checks: the import order."""

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent


def test_rooms_import_one_way_only() -> None:
    done = subprocess.run(
        [str(Path(sys.executable).parent / "lint-imports")], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stdout + done.stderr
