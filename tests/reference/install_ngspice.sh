#!/bin/sh
# Install Debian's ngspice and its shared library, the reference simulator of the tests; quiet when both are there.
set -eu

library_present() {
    for folder in /usr/lib /usr/lib64 /usr/local/lib /usr/lib/*-linux-gnu; do
        [ -e "$folder/libngspice.so.0" ] && return 0
    done
    return 1
}

if command -v ngspice >/dev/null 2>&1 && library_present; then
    exit 0
fi

by_hand="Install ngspice with its shared library (Debian and Ubuntu: packages ngspice and libngspice0), then run make again."

if ! command -v apt-get >/dev/null 2>&1; then
    echo "ngspice, the reference simulator of the tests, is missing, and there is no apt-get here. $by_hand" >&2
    exit 1
fi

as_root=""
if [ "$(id -u)" -ne 0 ]; then
    if ! command -v sudo >/dev/null 2>&1 || ! sudo -n true 2>/dev/null; then
        echo "ngspice, the reference simulator of the tests, is missing, and installing it needs root. $by_hand" >&2
        exit 1
    fi
    as_root="sudo -n"
fi

echo "Installing ngspice, the reference simulator of the tests."
install="env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends ngspice libngspice0"
if ! $as_root $install >/dev/null 2>&1; then
    # A fresh machine has no package list yet.
    if ! { $as_root apt-get update -qq && $as_root $install >/dev/null; }; then
        echo "ngspice could not be installed; the lines above say why. $by_hand" >&2
        exit 1
    fi
fi
