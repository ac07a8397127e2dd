#!/bin/sh
# Install Debian's chromium, the browser of the page's tests; quiet when it is there.
set -eu

if command -v chromium >/dev/null 2>&1; then
    exit 0
fi

by_hand="Install it (Debian and Ubuntu: package chromium), then run make again."

if ! command -v apt-get >/dev/null 2>&1; then
    echo "chromium, the browser of the page's tests, is missing, and there is no apt-get here. $by_hand" >&2
    exit 1
fi

as_root=""
if [ "$(id -u)" -ne 0 ]; then
    if ! command -v sudo >/dev/null 2>&1 || ! sudo -n true 2>/dev/null; then
        echo "chromium, the browser of the page's tests, is missing, and installing it needs root. $by_hand" >&2
        exit 1
    fi
    as_root="sudo -n"
fi

echo "Installing chromium, the browser of the page's tests."
install="env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium"
if ! $as_root $install >/dev/null 2>&1; then
    # A fresh machine has no package list yet.
    if ! { $as_root apt-get update -qq && $as_root $install >/dev/null; }; then
        echo "chromium could not be installed; the lines above say why. $by_hand" >&2
        exit 1
    fi
fi
