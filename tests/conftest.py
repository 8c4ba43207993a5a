"""A quiet world for every test: no settings of this machine, and quick properties."""

from __future__ import annotations

import asyncio
import gc
import os
import shutil
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from playwright.sync_api import Browser, sync_playwright

# The test command gives the same answer to the same code; `--hypothesis-profile=search` looks where nobody has looked.
settings.register_profile("search", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("suite", settings.get_profile("search"), derandomize=True)
settings.load_profile("suite")

# Each of the suite's many processes would compile the whole program anew.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# A disk in memory, where there is one with room: tests write a few hundred thousand files, each made safe on its disk.
_MEMORY = Path("/dev/shm")  # noqa: S108 (folders with names of their own are made there)
if os.access(_MEMORY, os.W_OK) and shutil.disk_usage(_MEMORY).free > 4 * 2**30:
    tempfile.tempdir = os.environ["TMPDIR"] = str(_MEMORY)


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are cores: tests wait for a browser, a server or a process of their own."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_finish() -> None:
    """Look no more through thousands of tests for what nobody uses; else as seldom as the program itself does."""
    gc.freeze()
    gc.set_threshold(100_000, 50, 50)


@pytest.fixture(autouse=True)
def _quiet_world(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in [name for name in os.environ if name.startswith("SITEGEN_")]:
        monkeypatch.delenv(name)


@pytest.fixture(autouse=True)
def _no_other_loop(request: pytest.FixtureRequest) -> Iterator[None]:
    """A browser that another test left open keeps an event loop running in this thread; publishing starts its own."""
    running = None if "browser" in request.fixturenames else asyncio._get_running_loop()
    if running:
        asyncio._set_running_loop(None)
    yield
    if running:
        asyncio._set_running_loop(running)


CHROMIUM = Path(shutil.which("chromium") or "/usr/bin/chromium")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Start Chromium once for all that looks at pages."""
    if not CHROMIUM.exists():
        if os.environ.get("SITEGEN_BROWSER_TESTS") == "must":
            pytest.fail("there is no Chromium on this machine")
        pytest.skip("there is no Chromium on this machine")
    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=str(CHROMIUM), args=["--no-sandbox"])
        yield started
        started.close()
