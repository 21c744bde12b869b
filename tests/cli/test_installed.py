"""The command as it is installed, run from a folder that is not the project's."""

import subprocess
import sys
from pathlib import Path

INSTALLED = Path(sys.executable).with_name("leakback")


def test_the_installed_command_runs_from_any_folder(tmp_path: Path) -> None:
    done = subprocess.run([INSTALLED, "template", "blanks"], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "blanks" / "jobs.csv").read_text().startswith("job_id,")
