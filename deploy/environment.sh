# Sourced by deploy/start and deploy/test: finds a Python, and makes an environment from a lock file.
# shellcheck shell=sh

fail() {
    echo "$1" >&2
    exit 1
}

is_new_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null
}

# Prints the interpreter to use: LASTLAMP_PYTHON alone if it is set, else the first on the PATH that is new enough.
find_python() {
    if [ -n "${LASTLAMP_PYTHON:-}" ]; then
        command -v "$LASTLAMP_PYTHON" >/dev/null || fail "LASTLAMP_PYTHON names $LASTLAMP_PYTHON, which cannot be run."
        is_new_enough "$LASTLAMP_PYTHON" || fail "LASTLAMP_PYTHON names $LASTLAMP_PYTHON, which is not Python 3.11 or newer."
        echo "$LASTLAMP_PYTHON"
        return
    fi
    seen=
    for candidate in python3 python3.14 python3.13 python3.12 python3.11 python; do
        command -v "$candidate" >/dev/null || continue
        if is_new_enough "$candidate"; then
            echo "$candidate"
            return
        fi
        seen="${seen:-$candidate is $("$candidate" --version 2>&1 | head -n 1)}"
    done
    [ -z "$seen" ] || fail "Python 3.11 or newer is needed, and $seen. Install a newer one, or name it in LASTLAMP_PYTHON."
    fail "Python 3.11 or newer is needed, and no python3 is on the PATH. Install it, or name it in LASTLAMP_PYTHON."
}

# What an environment was made from: the lock and the interpreter. Made anew when either changes.
fingerprint() {
    "$1" - "$2" <<'PYTHON'
import hashlib
import pathlib
import sys

lock = pathlib.Path(sys.argv[1]).read_bytes()
print(hashlib.sha256(lock).hexdigest(), sys.implementation.cache_tag, sys.base_prefix)
PYTHON
}

# make_environment FOLDER LOCK
make_environment() {
    folder=$1
    lock=$2
    python=$(find_python) || exit 1
    wanted=$(fingerprint "$python" "$lock")
    if [ -x "$folder/bin/python" ] && [ "$(cat "$folder/made-from" 2>/dev/null)" = "$wanted" ]; then
        return
    fi
    "$python" -c 'import ensurepip, venv' 2>/dev/null ||
        fail "$python lacks the venv module with pip in it. Install it (on Debian and Ubuntu the package python3-venv)."
    log=$folder.log
    (: >"$log") 2>/dev/null ||
        fail "The folder $(cd "$(dirname "$folder")" && pwd) cannot be written, and $folder is made in it. Copy all of this to where you may write."
    echo "Making $folder from $lock ..." >&2
    "$python" -m venv --clear "$folder" >"$log" 2>&1 ||
        fail "The environment $folder could not be made; $log says why."
    "$folder/bin/python" -m pip install --disable-pip-version-check --no-input --retries 2 --no-deps \
        --only-binary :all: --require-hashes --requirement "$lock" >"$log" 2>&1 ||
        fail "The packages in $lock could not be installed, often for want of a network; $log says why."
    echo "$wanted" >"$folder/made-from"
    rm -f "$log"
}

# add_command FOLDER: puts the command lastlamp into an environment. It runs this tree from any folder, and nothing
# is built for it, which would need packages that no lock names.
add_command() {
    root=$(pwd)
    cat 2>/dev/null >"$1/bin/lastlamp" <<COMMAND || fail "The folder $1 cannot be written, and the command lastlamp is made in it."
#!/bin/sh
PYTHONPATH='$(quoted "$root")' exec '$(quoted "$root/$1")/bin/python' -P -c 'import sys; sys.argv[0] = "lastlamp"; from service.__main__ import run; run()' "\$@"
COMMAND
    chmod 755 "$1/bin/lastlamp"
}

# Writes a text so that it can stand between single quotes.
quoted() {
    printf '%s' "$1" | sed "s/'/'\\\\''/g"
}
