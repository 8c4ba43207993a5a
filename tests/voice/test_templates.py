"""Compiled templates are kept, and never mixed up."""

from __future__ import annotations

import pytest
from jinja2 import DictLoader, Environment

from sitegen.voice.templates import KeptTemplates


def opened(use: str, text: str, greeting: str) -> Environment:
    """Open a template whose filter is worked out while it's compiled, as Jinja does with what is fixed."""
    made = Environment(
        loader=DictLoader({"kept.txt": text}), autoescape=True, bytecode_cache=KeptTemplates(use)
    )
    made.filters["greets"] = lambda name: f"{greeting} {name}"
    return made


def test_what_was_compiled_is_kept_for_its_use_and_its_text(monkeypatch: pytest.MonkeyPatch) -> None:
    english, german = '{{ "Ada"|greets }}!', '{{ "Ada"|greets }}.'
    said = [
        opened(use, text, greeting).get_template("kept.txt").render()
        for use, text, greeting in (("en", english, "Dear"), ("de", english, "Liebe"), ("en", german, "Dear"))
    ]
    monkeypatch.setattr(Environment, "compile", lambda *_: pytest.fail("compiled again"))

    assert said == ["Dear Ada!", "Liebe Ada!", "Dear Ada."]
    assert opened("en", german, "Dear").get_template("kept.txt").render() == "Dear Ada."
