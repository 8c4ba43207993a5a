"""Whole jobs: each reads the studio, asks one or two rooms, and says what came of it.

Both faces find a job by its module and its name, like `orders.add`; rooms never call each other.
"""

import inspect
from collections.abc import Callable, Mapping
from importlib import import_module
from operator import attrgetter
from types import SimpleNamespace
from typing import Any


def job_of(path: str) -> Callable[..., Any]:
    """Find a job by its module and its name."""
    module, _, name = path.rpartition(".")
    found: Callable[..., Any] = getattr(import_module(f"sitegen.jobs.{module}"), name)
    return found


def wish_of(path: str) -> Any:
    """Return the class of a job's wish; None for a job that is only told to go."""
    job = inspect.unwrap(job_of(path))
    written = job.__annotations__.get("wish")
    return attrgetter(written)(SimpleNamespace(**job.__globals__)) if written else None


def call(path: str, given: Mapping[str, Any], meanwhile: Mapping[str, Any]) -> Any:
    """Call a job with what it takes of: folder, wish and day in this order; what a face does meanwhile."""
    job = job_of(path)
    takes = inspect.signature(job).parameters
    first = (given[name] for name in ("folder", "wish", "today") if name in takes)
    return job(*first, **{name: does for name, does in meanwhile.items() if name in takes})
