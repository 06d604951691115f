#!/bin/sh
# Prints the path of a Chromium: $CHROMIUM, the PATH, or one installed by apt (with Pango, for the PDFs) where this is
# root. Else says how.
if [ -n "$CHROMIUM" ] && [ -x "$CHROMIUM" ]; then echo "$CHROMIUM"; exit 0; fi
look() { for name in chromium chromium-browser google-chrome google-chrome-stable; do command -v "$name" && return 0; done; return 1; }
look && exit 0
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq chromium libpango-1.0-0 libpangoft2-1.0-0; } >&2
    look && exit 0
fi
echo "The browser tests need Chromium: install it (Debian: sudo apt-get install chromium), or set CHROMIUM to its path." >&2
exit 1
