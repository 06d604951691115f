#!/bin/sh
# Prints the path of a Chromium: $CHROMIUM, the PATH, or one installed by apt (with Pango, for the PDFs) where this is
# root. Else says how. The length of a page is tested in letters as wide as Arial's: installed likewise where there are none.
may_install() { [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; }
install() { { apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "$@"; } >&2; }
look() {
    if [ -n "$CHROMIUM" ] && [ -x "$CHROMIUM" ]; then echo "$CHROMIUM"; return 0; fi
    for name in chromium chromium-browser google-chrome google-chrome-stable; do command -v "$name" && return 0; done
    return 1
}
if ! look >/dev/null && may_install; then install chromium libpango-1.0-0 libpangoft2-1.0-0 fonts-liberation; fi
if command -v fc-list >/dev/null && ! fc-list : family | grep -Eqi '^(arial|liberation sans|helvetica neue|roboto|segoe ui)'; then
    if may_install; then install fonts-liberation || true; else
        echo "No letters as wide as Arial's: tests of a page's length may fail (Debian: sudo apt-get install fonts-liberation)." >&2
    fi
fi
look && exit 0
echo "The browser tests need Chromium: install it (Debian: sudo apt-get install chromium), or set CHROMIUM to its path." >&2
exit 1
