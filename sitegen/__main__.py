"""Run as `python -m sitegen`."""

from sitegen.terminal.start import run

if __name__ == "__main__":
    run()
