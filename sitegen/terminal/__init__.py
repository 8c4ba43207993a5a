"""Commands of one idea each: parse, call one job, print its answer. The command line adds them."""
