"""Whole jobs: each reads the studio, asks one or two rooms, and says what came of it.

The command line calls a job and prints its answer; rooms never call each other.
"""
