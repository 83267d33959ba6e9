# Sourced by deploy/test: installs the programs that some tests use, where root may do so with apt-get.
# shellcheck shell=sh

# Each command with the Debian package that has it.
wanted_tools() {
    cat <<'TOOLS'
nginx nginx-light
haproxy haproxy
caddy caddy
wrk wrk
promtool prometheus
chromium chromium
php php-cli
pdftotext poppler-utils
buildah buildah
curl curl
debootstrap debootstrap
unshare util-linux
TOOLS
}

missing_packages() {
    wanted_tools | while read -r command package; do
        command -v "$command" >/dev/null || echo "$package"
    done
}

# Some of the packages bring a daemon, which nobody asked to be started. Debian asks this file.
forbid_daemons() {
    policy=/usr/sbin/policy-rc.d
    [ ! -e "$policy" ] || return 0
    printf '#!/bin/sh\nexit 101\n' >"$policy"
    chmod 755 "$policy"
    trap 'rm -f "$policy"' EXIT
    trap 'exit 1' HUP INT TERM
}

apt_install() {
    apt-get install --yes --no-install-recommends -o DPkg::Lock::Timeout=300 "$@"
}

# Never fails: a test whose tool is missing says so and is counted.
install_tools() {
    packages=$(missing_packages | tr '\n' ' ')
    [ -n "$packages" ] || return 0
    if [ "$(id -u)" -ne 0 ] || ! command -v apt-get >/dev/null; then
        echo "Some tests will be skipped, for want of: $packages" >&2
        return 0
    fi
    log=.venv-test.tools.log
    echo "Installing, for some of the tests: $packages" >&2
    (
        forbid_daemons
        export DEBIAN_FRONTEND=noninteractive
        apt-get update -o Acquire::Retries=1 -o Acquire::http::Timeout=30
        # One that cannot be had must not keep the others out.
        # shellcheck disable=SC2086  # one word a package
        apt_install $packages || for package in $packages; do apt_install "$package" || true; done
    ) >"$log" 2>&1 </dev/null || true
    packages=$(missing_packages | tr '\n' ' ')
    [ -z "$packages" ] || echo "Could not be installed, and $log says why: $packages" >&2
}
