"""The wheel stands on its own: built, unpacked elsewhere, and the demo run from it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from pipeline.contracts import places
from tests.conftest import some_of_the_demo

ROOT = Path(__file__).parent.parent


def test_the_demo_runs_from_an_installed_wheel(tmp_path: Path):
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check"]
    built = [*pip, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", str(tmp_path), str(ROOT)]
    subprocess.run(built, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    site = tmp_path / "site"
    put = [*pip, "install", "--no-deps", "--no-compile", "--no-index", "--target", str(site), str(wheel)]
    subprocess.run(put, check=True, capture_output=True)

    # The demo that is run is the wheel's own, with a part of its cases: the whole of it is made for the fixture `demo`.
    shipped = site / "pipeline" / "_shipped" / "demo_export"
    assert sorted(path.name for path in shipped.iterdir()) == sorted(path.name for path in places.DEMO_EXPORT.iterdir())
    for path in some_of_the_demo(tmp_path / "some", 60).iterdir():
        path.replace(shipped / path.name)

    code = "import pipeline; from pipeline.console.cli import main; print(pipeline.__file__); main()"
    ran = subprocess.run(
        [sys.executable, "-c", code, "demo", "--out", str(tmp_path / "audit")],
        env={**os.environ, "PYTHONPATH": str(site)},
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    assert Path(ran.stdout.splitlines()[0]).is_relative_to(site)
    assert (site / "pipeline" / "_shipped" / "sql" / "macros.sql").is_file()
    assert (tmp_path / "audit" / "editions" / "2026Q3" / "service.html").is_file()
