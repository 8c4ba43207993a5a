"""Print constraints that pin what the program needs to the lowest versions that pyproject.toml allows.

What only the tests need stays at the versions of constraints.txt. Run: python tests/bounds.py > lowest.txt
"""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
_NEED = re.compile(r"([A-Za-z0-9._-]+)(?:\[[^\]]*\])?(?:>=([0-9][0-9.]*))?")


def needs(lines: list[str]) -> dict[str, str]:
    """Return the lowest version of each need, by its name in small letters and hyphens; empty for any."""
    found = [match for line in lines if (match := _NEED.match(line))]
    return {_name(match[1]): match[2] or "" for match in found}


def _name(written: str) -> str:
    return re.sub(r"[-_.]+", "-", written).lower()


def lowest() -> list[str]:
    """Return the constraints, one a line."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    tests = needs(project["optional-dependencies"]["tests"])
    known = (ROOT / "tests" / "constraints.txt").read_text("utf-8").splitlines()
    pinned = [line for line in known if _name(line.partition("==")[0]) in tests]
    # What only another system needs isn't installed here.
    everywhere = [line for line in project["dependencies"] if ";" not in line]
    own = [f"{name}=={version}" for name, version in needs(everywhere).items()]
    return [*own, *pinned]


if __name__ == "__main__":
    print("\n".join(lowest()))
