"""The audit folder: settings, mappings, commentary, and whatever is made in it, readable by its owner only.

Comes in: a path. Goes out: the folder with what it starts with. Refuses to touch settings that are there, and to put
the demo into a folder that holds something else.
"""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Iterator
from pathlib import Path

from pipeline.contracts import places
from pipeline.errors import Fault, Refused
from pipeline.settings import FILE_NAME, first_settings

COMMENTARY, MAPPINGS = "commentary", "mappings"


def make(folder: Path) -> Path:
    """Make an audit folder; the settings file in it."""
    settings_file = folder / FILE_NAME
    if settings_file.exists():
        mend = "use it as it is, or name another folder"
        raise Refused(Fault(str(settings_file), "there is one already", "a folder without one", mend))
    for name in (COMMENTARY, MAPPINGS):
        (folder / name).mkdir(parents=True, exist_ok=True)
    settings_file.write_text(first_settings(), encoding="utf-8")
    _keep_out_of_git(folder)
    return settings_file


def make_demo(folder: Path) -> None:
    """Make the audit folder of the invented service, or use the one that the demo made before."""
    settings_file = folder / FILE_NAME
    ours = (places.DEMO_EXPORT / FILE_NAME).read_bytes()
    made_before = settings_file.exists() and settings_file.read_bytes() == ours
    if folder.exists() and any(folder.iterdir()) and not made_before:
        allowed = "a new folder, or one the demo made"
        raise Refused(Fault(str(folder), "something else is in it", allowed, "name another: --out DIR"))
    folder.mkdir(parents=True, exist_ok=True)
    _keep_out_of_git(folder)
    shutil.copyfile(places.DEMO_EXPORT / FILE_NAME, settings_file)
    # copyfile, not copy: the modes of the originals are not those of an owner's own files.
    for name in (COMMENTARY, MAPPINGS):
        (folder / name).mkdir(exist_ok=True)
        for path in (places.DEMO_EXPORT / name).iterdir():
            if not (folder / name / path.name).exists():  # what somebody wrote into it meanwhile stays
                shutil.copyfile(path, folder / name / path.name)


def part(place: Path, name: str) -> Path:
    """A folder within another, made where it is not there."""
    within = place / name
    within.mkdir(parents=True, exist_ok=True)
    return within


def see_that_it_is_one(folder: Path) -> None:
    """Raise Refused where the folder has no settings file."""
    if not (folder / FILE_NAME).is_file():
        mend = "name the audit folder: --folder DIR; or make one: feeding-audit new FOLDER"
        raise Refused(Fault(str(folder / FILE_NAME), "there is no such file", "an audit folder has one", mend))


def _keep_out_of_git(folder: Path) -> None:
    """What is in here is personal data, and no business of a repository the folder may lie in."""
    (folder / ".gitignore").write_text("*\n", encoding="utf-8")


@contextlib.contextmanager
def owner_only() -> Iterator[None]:
    """Whatever is made in here is readable by its owner only."""
    before = os.umask(0o077)
    try:
        yield
    finally:
        os.umask(before)
