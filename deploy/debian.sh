# Sourced by deploy/image and by what the tests run an engine with: makes folders of Debian, and keeps them.
# shellcheck shell=sh disable=SC2154  # deploy/environment.sh has fail

cache=${XDG_CACHE_HOME:-$HOME/.cache}/lastlamp

# open_cache NAME: a log of its own, and nobody else at work here, who would pull folders away from under this.
open_cache() {
    mkdir -p "$cache"
    log=$cache/$1.log
    : >"$log"
    exec 9>"$cache/image.lock"
    flock 9
}

quietly() {
    "$@" >>"$log" 2>&1 || fail "$1 failed; $log says why."
}

# The archive that apt uses for a release of Debian.
archive() {
    # shellcheck disable=SC2016  # apt-get fills these in, not the shell
    apt-get indextargets --format '$(CODENAME) $(COMPONENT) $(BASE_URI)' 'Created-By: Packages' |
        awk -v release="$1" '$1 == release && $2 == "main" { sub("/dists/.*", "", $3); print $3; exit }'
}

make_base() {
    release=$(. /etc/os-release && echo "$VERSION_CODENAME")
    base=$cache/base-$release
    [ ! -e "$base/usr/bin/python3" ] || return 0
    from=$(archive "$release")
    [ -n "$from" ] || fail "apt knows no archive for $release. Run apt-get update, or see its sources."
    make_folder "$base" "$release" "$from" python3,python3-venv,ca-certificates
}

# The same with a compiler, for the stage that is thrown away.
make_tools() {
    release=$(. /etc/os-release && echo "$VERSION_CODENAME")
    tools=$cache/tools-$release
    [ ! -e "$tools/usr/bin/cc" ] || return 0
    make_folder "$tools" "$release" "$(archive "$release")" python3,python3-venv,python3-dev,gcc,libc6-dev,ca-certificates
}

# make_folder FOLDER RELEASE ARCHIVE PACKAGES
make_folder() {
    echo "Making a base of $2 in $cache ..." >&2
    rm -rf "$1.new"
    quietly debootstrap --variant=minbase --include="$4" "$2" "$1.new" "$3"
    # What slim images leave out as well, and where the packages came from.
    for leftover in usr/share/doc usr/share/man usr/share/info usr/share/locale var/cache/apt var/lib/apt/lists; do
        [ ! -d "$1.new/$leftover" ] || find "$1.new/$leftover" -mindepth 1 -delete
    done
    rm -rf "$1.new/etc/apt/sources.list" "$1.new/debootstrap" "$1.new"/var/log/*
    mv "$1.new" "$1"
}

# An interpreter of the base's release here, to choose the same wheels.
python_like_base() {
    wanted=$(readlink "$base/usr/bin/python3")
    for candidate in .venv-test/bin/python .venv/bin/python "$wanted" python3; do
        if [ "python$("$candidate" -c 'import pip, sys; print("%d.%d" % sys.version_info[:2])' 2>/dev/null)" = "$wanted" ]; then
            echo "$candidate"
            return
        fi
    done
    fail "The base has $wanted, and this machine has no $wanted with pip to fetch packages with."
}

fetch_wheels() {
    wheels=$cache/wheels-$(cat deploy/requirements.txt deploy/requirements-build.txt | sha256sum | cut -c 1-16)-${base##*-}
    [ ! -d "$wheels" ] || return 0
    python=$(python_like_base)
    rm -rf "$cache"/wheels-*
    quietly "$python" -m pip download --disable-pip-version-check --no-input --no-deps --only-binary :all: \
        --require-hashes --requirement deploy/requirements.txt --requirement deploy/requirements-build.txt \
        --dest "$wheels.new"
    mv "$wheels.new" "$wheels"
}
