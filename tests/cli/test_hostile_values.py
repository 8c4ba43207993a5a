"""What stands in a studio's files reaches the terminal as text, in any terminal, and machines as valid JSON."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import sitegen
from tests import makers

HOSTILE = "\x1b[2J\x9b\x07\u202e" + "x" * 100_000
ORDERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202e]")


def run(folder: Path, *words: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    clean = {
        key: value
        for key, value in os.environ.items()
        if key not in {"PYTHONUTF8", "PYTHONIOENCODING", "LC_ALL"}
    }
    return subprocess.run(
        [sys.executable, "-m", "sitegen", "--studio", str(folder), *words],
        env={**clean, **environment},
        capture_output=True,
        check=False,
        timeout=60,
    )


def hostile_studio(tmp_path: Path) -> Path:
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml(status=HOSTILE.replace("\x1b", ""))})
    makers.write(
        folder / "people.csv", f'email,name,interests,joined,consent,evidence,left\n"{HOSTILE}",,,,,,\n'
    )
    makers.write(folder / "pages" / "about.md", f"# About {HOSTILE}\n\n[away]({HOSTILE})\n")
    return folder


def test_a_hostile_studio_can_t_steer_the_terminal(tmp_path: Path) -> None:
    """Every complaint is there, none as an order, none as long as what it quotes."""
    done = run(hostile_studio(tmp_path), "check", PYTHONIOENCODING="utf-8")

    shown = (done.stdout + done.stderr).decode("utf-8")
    assert done.returncode == 1
    assert not ORDERS.search(shown)
    assert len(shown) < 12_000
    assert {"people.csv", "pages/about.md", "pieces/ghost/piece.yaml"} <= {
        line.split(",")[0] for line in shown.splitlines()
    }


@pytest.mark.parametrize(
    "terminal",
    [
        {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}, pytest.param({"PYTHONIOENCODING": "cp437"}, marks=pytest.mark.slow),
        pytest.param({"PYTHONIOENCODING": "ascii", "TERM": "ansi"}, marks=pytest.mark.slow), pytest.param({"PYTHONIOENCODING": "utf-8", "TERM": "dumb"}, marks=pytest.mark.slow),
    ],
)  # fmt: skip
def test_json_stays_valid_in_any_terminal(tmp_path: Path, terminal: dict[str, str]) -> None:
    """And lines for people are printed, whatever letters it has."""
    folder = makers.studio(tmp_path, {"ghost": makers.piece_yaml(status="ausgebüxt \U0001f58c")})

    done, plain = run(folder, "check", "--json", **terminal), run(folder, "check", **terminal)

    (complaint,) = [load for load in json.loads(done.stdout)["complaints"] if load["level"] == "error"]
    assert complaint["message"].startswith("status 'ausgebüxt \U0001f58c' is not one of")
    assert (done.returncode, plain.returncode) == (1, 1)
    assert b"Traceback" not in done.stderr + plain.stderr


def test_everything_is_printed_through_one_door() -> None:
    """No command prints by itself: `tell` makes fit what it's given."""
    home = Path(sitegen.__file__).parent
    doors = {
        file.name
        for file in home.rglob("*.py")
        if re.search(r"click\.echo\(|click\.secho|(?<![\w.])print\(", file.read_text("utf-8"))
    }

    assert doors == {"telling.py"}
