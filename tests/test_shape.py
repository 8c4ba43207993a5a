"""Imports go one way, and the documents agree with each other."""

from __future__ import annotations

import ast
import re
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "sitegen"

# Who may import whom. Everyone may import itself and studio, and who writes files the disk; output rooms never import each other.
ALLOWED = {
    "disk": {"studio"},
    "studio": set(),
    "sources": {"studio", "voice", "disk"},
    "voice": {"studio", "carried"},
    "pictures": {"studio", "disk"},
    "site": {"studio", "voice", "disk"},
    "letters": {"studio", "voice", "disk"},
    "paper": {"studio", "voice"},
    "publishing": {"studio", "voice", "disk"},
    "desk": {"studio"},
    "carried": set(),
    "jobs": {
        "studio",
        "voice",
        "sources",
        "pictures",
        "site",
        "letters",
        "paper",
        "publishing",
        "desk",
        "carried",
        "disk",
    },
    # Two faces stand on the jobs; the terminal opens the other one.
    "browser": {"studio", "jobs", "voice"},
    "terminal": {"studio", "jobs", "browser"},
    "__main__": {"terminal"},
    "__init__": set(),
}


def imports_of(file: Path) -> set[str]:
    """Return the rooms a file imports, also inside functions and for type checking only."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names = (
                [node.module] if node.module != "sitegen" else [f"sitegen.{name.name}" for name in node.names]
            )
        elif isinstance(node, ast.Import):
            names = [name.name for name in node.names]
        else:
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("sitegen.")}
    return found


FILES = sorted(PACKAGE.rglob("*.py"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.relative_to(PACKAGE).as_posix())
def test_imports_go_one_way(file: Path) -> None:
    room = file.relative_to(PACKAGE).parts[0].removesuffix(".py")

    assert imports_of(file) - {room} <= ALLOWED[room]


def links(modules: dict[str, str]) -> dict[str, set[str]]:
    """Return which modules each imports, by name and text: also inside functions and for type checking only."""
    found: dict[str, set[str]] = {}
    for name, text in modules.items():
        named = set()
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and node.module:
                named |= {node.module, *(f"{node.module}.{name.name}" for name in node.names)}
            elif isinstance(node, ast.Import):
                named |= {name.name for name in node.names}
        # A package's own face may import its modules; they import each other past it.
        found[name] = {one for one in named & modules.keys() if not name.startswith(f"{one}.")} - {name}
    return found


def name_of(file: Path) -> str:
    return ".".join(file.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")


def test_no_module_imports_itself_by_way_of_others() -> None:
    modules = {name_of(file): file.read_text(encoding="utf-8") for file in FILES}
    found = links(modules)

    assert sum(map(len, found.values())) > len(FILES)
    TopologicalSorter(found).prepare()


@pytest.mark.parametrize(
    "back", ["from a import b", "def late():\n    import a.b", "if TYPE_CHECKING:\n    from a.b import x"]
)
def test_a_planted_cycle_is_found(back: str) -> None:
    planted = {"a": "", "a.b": "from a import c", "a.c": "from a.d import y", "a.d": back}

    with pytest.raises(CycleError):
        TopologicalSorter(links(planted)).prepare()
    TopologicalSorter(links({**planted, "a.d": "import os"})).prepare()


@pytest.mark.parametrize(
    "file", [path for path in FILES if path.is_relative_to(PACKAGE / "studio")], ids=lambda file: file.name
)
def test_the_studio_room_has_no_files_clock_or_network(file: Path) -> None:
    text = file.read_text(encoding="utf-8")

    forbidden = r"(?<!def )\b(open\(|read_text|read_bytes|write_text|write_bytes|datetime\.now|date\.today|time\.time|socket|urllib\.request|print\()"
    assert re.findall(forbidden, text) == []


def test_ci_runs_the_command_of_the_readme() -> None:
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    (command,) = re.findall(r"^    (python3 .*pytest)$", readme, re.MULTILINE)

    assert command in ci.splitlines()


def test_mail_addresses_in_what_is_shipped_are_reserved_examples() -> None:
    """RFC 2606 and RFC 6761 name the domains that belong to nobody."""
    reserved = re.compile(r"@([\w-]+\.)*(example(\.(com|net|org))?|test|invalid|localhost)$", re.IGNORECASE)
    address = re.compile(r"[\w.+-]+@[\w-]+(?:\.[\w-]+)+")
    texts = [
        file for folder in ("demo", "content", "themes") for file in (ROOT / folder).rglob("*")
        if file.suffix in {".yaml", ".md", ".csv", ".html", ".txt", ".typ"}
    ]  # fmt: skip
    found = [one for file in texts for one in address.findall(file.read_text(encoding="utf-8"))]

    assert found
    assert [one for one in found if not reserved.search(one)] == []


def test_what_the_guide_for_contributors_points_at_is_there() -> None:
    """Every file of code or text in back quotes, below the checkout or the package; every module on a way through."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:[a-z_]+/)+[a-z_]+\.(?:py|md))`", text))

    assert len(named) > 40
    assert [name for name in sorted(named) if not ((ROOT / name).exists() or (PACKAGE / name).exists())] == []
    on_the_way = {*re.findall(r"`([a-z_]+)`(?: \([^()]*\))? →", text), *re.findall(r"→ `([a-z_]+)`", text)}
    assert len(on_the_way) > 10
    assert on_the_way <= {file.stem for file in FILES}


def classes() -> dict[str, list[ast.ClassDef]]:
    """Return the package's classes by name."""
    found: dict[str, list[ast.ClassDef]] = {}
    for file in FILES:
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                found.setdefault(node.name, []).append(node)
    return found


def test_no_two_classes_have_one_name() -> None:
    assert [name for name, nodes in classes().items() if len(nodes) > 1] == []


def test_faults_are_one_family_with_a_kind_only_for_what_is_caught_apart() -> None:
    """A new kind needs somebody who catches it, and a word in `studio/asked.py`."""
    kinds = {name for name, nodes in classes().items() if name.endswith("Fault")} - {"PhotoFault"}  # a value

    assert kinds == {
        "Fault",
        "StudioFault",
        "LinkFault",
        "ChoiceFault",
        "LetterFault",
        "WishFault",
        "OfferFault",
    }
    told = ast.get_docstring(ast.parse((PACKAGE / "studio/asked.py").read_text(encoding="utf-8"))) or ""
    assert [kind for kind in kinds - {"Fault"} if kind not in told] == []
