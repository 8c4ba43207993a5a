"""The desk in the browser: the second face, over the same files and the same jobs as the terminal."""
