"""The terminal: every text that a command prints goes through here, and loses the signs that would move its cursor.

Comes in: a text. Goes out: it, on standard output, or on standard error where something is not as it should be.
"""

from __future__ import annotations

import click

from pipeline.plain_text import without_unseen_signs, wrapped


def say(text: str = "", *, error: bool = False) -> None:
    """Print a text, its line feeds as they are."""
    click.echo(without_unseen_signs(text), err=error)


def ask(question: str) -> None:
    """Go on only where the answer is yes."""
    click.confirm(without_unseen_signs(question), abort=True)


def say_wrapped(text: str, indent: int = 2, *, hanging: int = 2) -> None:
    """Print a text on as many lines as it needs, all but the first indented by `hanging` more."""
    say(wrapped(text, indent, hanging))
