"""From out/site to where it lives: only what changed, only our own files, and a look at what came of it."""
