"""A working copy under version control (git), from which a host serves the site: commits of our files."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path

from sitegen.publishing.hosts import FolderHost, Load
from sitegen.publishing.listing import CLAIM
from sitegen.studio.asked import Fault
from sitegen.studio.text import short

# Seconds for a push over a slow line.
PATIENCE = 900


class VersionHost(FolderHost):
    """What counts there is the latest commit; files that are written only, are put again by the next run."""

    counts_at_once = False

    def __init__(self, folder: Path, author: str, mail: str) -> None:
        """Take a working copy, or a folder of one. Raises Fault."""
        super().__init__(folder)
        git = shutil.which("git")
        if git is None:
            raise Fault("the program git isn't on this machine; install it, or choose another `way:`")
        said = (f"user.name={author}", f"user.email={mail}", f"core.hooksPath={os.devnull}")
        self._program = [git, *(word for setting in said for word in ("-c", setting)), "-C", str(self._root)]
        self._within = self._git("rev-parse", "--show-prefix").strip()
        self._branch = self._git("symbolic-ref", "--short", "-q", "HEAD", or_else="").strip()
        if not self._branch:
            raise Fault(f"{self.name} is on no branch; `git switch` to the one that is served, then publish")
        self._head = self._git("rev-parse", "-q", "--verify", "HEAD", or_else="").strip()

    def _git(
        self, *words: str, given: str = "", also: Mapping[str, str] | None = None, or_else: str | None = None
    ) -> str:
        """Let git do something; `or_else` is what counts where it can't. Raises Fault without one."""
        # What a shell was told of another repository isn't meant for this one; nobody is there to be asked.
        known = {name: value for name, value in os.environ.items() if not name.startswith("GIT_")}
        known |= {"GIT_TERMINAL_PROMPT": "0", "LC_ALL": "C", "GIT_SSH_COMMAND": "ssh -o BatchMode=yes"}
        try:
            done = subprocess.run(  # noqa: S603 (a fixed program; paths go in by its standard input)
                [*self._program, *words], input=given,
                env=known | dict(also or {}), capture_output=True, check=False,
                encoding="utf-8", errors="replace", timeout=PATIENCE,
            )  # fmt: skip
        except subprocess.TimeoutExpired:
            raise Fault(f"git gave no answer to `{words[0]}`; publish again when you're on line") from None
        if done.returncode and or_else is None:
            raise Fault(f"git refuses `{words[0]}` in {self.name}: {short(done.stderr, 300)}")
        return done.stdout if not done.returncode else or_else or ""

    async def _read(self, path: str) -> bytes | None:
        if not self._head:
            return None
        found = self._git("cat-file", "blob", f"HEAD:{self._within}{path}", or_else="-")
        return None if found == "-" else found.encode()

    def put(self, loads: Sequence[Load], done: Callable[[Load], None]) -> None:
        super().put([load for load in loads if load.path != CLAIM], done)

    def finish(self, put: Iterable[str], removed: Iterable[str]) -> str:
        """Commit these paths and nothing else, and push. Raises Fault."""
        put, removed = list(put), list(removed)
        if put or removed:
            self._commit(put, removed)
        return self._push()

    def _commit(self, put: Sequence[str], removed: Iterable[str]) -> None:
        """Commit on top of the latest, beside the index that is the artist's own, unless nothing is new."""
        named = "".join(f"{self._root / path}\n" for path in put)
        blobs = self._git("hash-object", "-w", "--no-filters", "--stdin-paths", given=named).split()
        lines = [f"100644 {blob}\t{self._within}{path}\0" for blob, path in zip(blobs, put, strict=True)]
        lines += [f"0 {'0' * 40}\t{self._within}{path}\0" for path in removed]
        with tempfile.TemporaryDirectory() as place:
            own = {"GIT_INDEX_FILE": str(Path(place) / "index")}
            if self._head:
                self._git("read-tree", "HEAD", also=own)
            self._git("update-index", "-z", "--index-info", given="".join(lines), also=own)
            tree = self._git("write-tree", also=own).strip()
        if self._head and tree == self._git("rev-parse", "HEAD^{tree}").strip():
            return
        parent = ("-p", self._head) if self._head else ()
        commit = self._git("commit-tree", tree, *parent, "-m", "The site as it was built").strip()
        self._git("update-index", "-z", "--index-info", given="".join(lines))
        self._git("update-ref", "-m", "sitegen publish", "HEAD", commit, self._head or "0" * 40)

    def _push(self) -> str:
        remotes = self._git("remote").split()
        noted = self._git("config", f"branch.{self._branch}.remote", or_else="").strip()
        remote = noted or (remotes[0] if len(remotes) == 1 else "")
        if not remote:
            return f"{self.name} has no remote to push to, so the commit stays there."
        into = self._git("config", f"branch.{self._branch}.merge", or_else="").strip()
        try:
            self._git("push", "--quiet", remote, f"HEAD:{into or f'refs/heads/{self._branch}'}")
        except Fault as fault:
            raise Fault(
                f"the commit is made, but not pushed: {fault}. If the other side has commits that this copy "
                "lacks, bring them in (`git pull`), then publish again"
            ) from fault
        return ""
