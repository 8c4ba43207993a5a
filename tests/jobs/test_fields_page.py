"""What a form is told of each field agrees with the model, and is what the guide's page says."""

from __future__ import annotations

from typing import Annotated, Any

import pytest
from pydantic import ConfigDict, TypeAdapter

from sitegen.jobs.fields_page import FormField, fields_of, text
from sitegen.sources.forms import MODELS
from sitegen.sources.validate import fields_at

PLAIN = {
    "text", "long text", "amount", "percentage", "number", "whole number", "date", "date and time", "yes or no",
    "choice", "colour", "web address", "time zone", "one line",
}  # fmt: skip
EVERY = [(kind, field) for kind in MODELS for field in fields_of(kind)]


def model_field(kind: str, path: str) -> Any:
    parts = [0 if part == "*" else part for part in path.split(".")]
    return fields_at(MODELS[kind], parts[:-1])[str(parts[-1])]


@pytest.mark.parametrize(
    ("kind", "field"), EVERY, ids=lambda one: one.path if isinstance(one, FormField) else one
)
def test_an_example_and_each_choice_is_read_as_it_stands(kind: str, field: FormField) -> None:
    """What a person copies from the form is no fault."""
    known = model_field(kind, field.path)
    assert field.needed is known.is_required()
    assert field.kind in PLAIN | {"block", "list", "names"}
    assert (field.block is not None) == (field.kind == "block" or field.each == "block")
    if field.kind in PLAIN:
        shape: Any = Annotated[known.annotation, *known.metadata] if known.metadata else known.annotation
        reader = TypeAdapter(shape, config=ConfigDict(arbitrary_types_allowed=True))
        for typed in filter(None, [field.example, field.usual, *field.choices]):
            reader.validate_python(typed, context={"digits": 2})


def test_every_line_of_a_model_is_a_field_once() -> None:
    for kind, model in MODELS.items():
        paths = [one.path for one in fields_of(kind)]
        assert len(set(paths)) == len(paths)
        names = {field.alias or name for name, field in model.model_fields.items()} - {"slug"}
        assert {path.partition(".")[0] for path in paths} == names


@pytest.mark.parametrize(
    ("kind", "path", "told"),
    [
        ("pieces/*/piece.yaml", "photos.*.alt", ("text", "", "A tall moth in a grey coat holds a lamp and looks away from it.")),
        ("pieces/*/piece.yaml", "story", ("long text", "", "")),
        ("pieces/*/piece.yaml", "private.hours", ("names", "number", "")),
        ("pieces/*/piece.yaml", "private.supplies.*.cost", ("amount", "", "23.50")),
        ("pieces/*/piece.yaml", "private.plan.to", ("text", "", "")),
        ("studio.yaml", "private.fees", ("percentage", "", "3%")),
        ("studio.yaml", "buy_at", ("text", "", "https://shop.example/{slug}")),
        ("commissions.yaml", "rounds.*.opens", ("date and time", "", "2027-01-16 12:00")),
        ("commissions.yaml", "queue.*.private.brief", ("long text", "", "A hare in mourning, stoneware and linen.")),
        ("shows/*.yaml", "private.costs", ("list", "block", "")),
    ],
)  # fmt: skip
def test_kind_and_example_are_the_models_or_the_starters(
    kind: str, path: str, told: tuple[str, str, str]
) -> None:
    (field,) = [one for one in fields_of(kind) if one.path == path]

    assert (field.kind, field.each, field.example) == told


def test_what_the_model_does_not_explain_the_starter_does() -> None:
    said = {one.path: one.meaning for one in fields_of("pieces/*/piece.yaml")}

    assert said["finished"] == "The day you put the brush down: year-month-day."
    assert said["private.tier"].startswith("The commission tier whose hours it tells of")


def test_the_guides_page_is_made_of_the_same_values() -> None:
    lines = text().splitlines()

    assert "- `photos[].file`: text, needed, like `front.jpg`. Name of the file beside piece.yaml." in lines
    assert "- `private.hours`: names, each with a number. Bench hours by step of the work." in lines
    assert "  - the same lines as `queue[].private`" in lines
    assert not any(line.startswith("- `waiting[].private.") for line in lines)
    told = {line.split("`")[1].replace("[]", ".*") for line in lines if line.startswith("- `")}
    assert told <= {one.path for _, one in EVERY}
