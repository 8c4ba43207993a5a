#!/bin/sh
# A double click opens the desk of this studio in the browser; closing this window closes the desk.
cd "$(dirname "$0")" || exit 1
program={python}
if [ -x "$program" ]; then exec "$program" -m sitegen --studio . desk "$@"; fi
if command -v sitegen >/dev/null; then exec sitegen --studio . desk "$@"; fi
echo "The program isn't where it was when this studio was made. Install it again, then try once more."
read -r _
