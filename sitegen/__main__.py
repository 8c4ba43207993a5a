"""Run as `python -m sitegen`."""

from sitegen.start import run

if __name__ == "__main__":
    run()
