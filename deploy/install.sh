#!/bin/sh
# Puts a bench on Debian, Ubuntu or Raspberry Pi OS (64-bit): a user, an environment, HTTPS, start at boot, nightly
# copies. Run it again, from a newer copy of the project, to bring the bench up to date: what is recorded stays, and
# an update that does not start is undone.
#
#   sudo deploy/install.sh bench.example.net 192.0.2.20                 certificate files: your own domain, or a VPN's name
#   sudo deploy/install.sh --own-authority bench.lan 192.0.2.20         the proxy's own authority
#
# --at DIR puts everything under DIR instead of / and starts nothing, for trying it out.
set -eu

tls=certificate-files root="" names=""
while [ $# -gt 0 ]; do
    case "$1" in
        --own-authority) tls=own-authority ;;
        --at) shift; root="${1%/}" ;;
        -*) echo "unknown: $1" >&2; exit 2 ;;
        *) names="${names:+$names, }$1" ;;
    esac
    shift
done
if [ -z "$names" ]; then
    echo "Say under which name tablets come, and at which fixed address:" >&2
    echo "    deploy/install.sh [--own-authority] NAME ADDRESS" >&2
    exit 2
fi
source=$(cd "$(dirname "$0")/.." && pwd)
home="$root/opt/drumside" state="$root/var/lib/drumside" settings="$root/etc/drumside"
current="$home/current"
new="$home/releases/$(date -u +%Y%m%dT%H%M%SZ)"

real() { [ -z "$root" ]; }
starts() { real && [ -d /run/systemd/system ]; }

# A command of the bench: of one release, as the server's user, with its settings.
bench() {
    release=$1
    shift
    (
        cd "$release"
        set -a
        . "$settings/environment"
        set +a
        if real; then
            exec runuser -u drumside -- .venv/bin/flask --app webapp "$@"
        fi
        exec .venv/bin/flask --app webapp "$@"
    )
}

if real; then
    [ "$(id -u)" = 0 ] || { echo "Run it as root (sudo)." >&2; exit 1; }
    apt-get update -qq
    apt-get install -y -qq --no-install-recommends python3 python3-venv caddy
    id drumside >/dev/null 2>&1 ||
        useradd --system --user-group --home-dir /var/lib/drumside --shell /usr/sbin/nologin drumside
fi

echo "1. Settings in $settings"
mkdir -p "$settings/tls" "$state" "$home/releases"
[ -s "$settings/secret" ] || (umask 077 && head -c 48 /dev/urandom | base64 -w 0 > "$settings/secret")
# What is added by hand (DRUMSIDE_AFTER_BACKUP, say) has a file of its own, which stays.
[ -e "$settings/local" ] || : > "$settings/local"
authority=""
[ "$tls" = own-authority ] && authority="$state/authority.crt"
{
    echo "DRUMSIDE_DATABASE=$state/bench.db"
    echo "DRUMSIDE_SECRET_KEY_FILE=$settings/secret"
    echo "DRUMSIDE_HTTPS=1"
    echo "DRUMSIDE_HOSTS=$(echo "$names" | sed 's/, /,/g')"
    echo "DRUMSIDE_BACKUPS=$state/backups"
    echo "DRUMSIDE_AUTHORITY=$authority"
    echo "HOST=127.0.0.1"
    echo "PORT=8000"
    cat "$settings/local"
} > "$settings/environment"
chmod 0700 "$state"
if real; then
    chown root:drumside "$settings/secret" "$settings/environment"
    chmod 0640 "$settings/secret" "$settings/environment"
    chown drumside:drumside "$state"
fi

echo "2. The app in $new"
mkdir -p "$new"
for part in webapp static deploy pyproject.toml README.md LICENSE; do
    cp -R "$source/$part" "$new/"
done
find "$new" -name __pycache__ -type d -prune -exec rm -rf {} +
python3 -m venv "$new/.venv"
(cd "$new" && .venv/bin/pip install -q --disable-pip-version-check -c deploy/constraints.txt -e .)
# Compiled now: the server itself may not write here.
"$new/.venv/bin/python" -m compileall -q "$new/webapp"

echo "3. The database"
old="" copy=""
[ -e "$current" ] && old=$(readlink -f "$current")
if starts; then systemctl stop drumside 2>/dev/null || :; fi
if [ -n "$old" ] && [ -e "$state/bench.db" ]; then
    bench "$old" backup --keep-all
    copy=$(ls "$state"/backups/bench-*.sqlite | tail -n 1)
fi

back() {
    # As it was before: the release, and the database of that release.
    echo "$1" >&2
    if [ -n "$old" ]; then
        if [ -n "$copy" ] && [ "${2:-}" = migrated ]; then
            bench "$old" restore "$copy"
        fi
        ln -sfn "$old" "$current.next" && mv -T "$current.next" "$current"
        if starts; then systemctl restart drumside || :; fi
    fi
    rm -rf "$new"
    exit 1
}

bench "$new" migrate || back "The database could not be brought up to date. Everything is as it was."
bench "$new" check > "$state/last-check" || {
    cat "$state/last-check" >&2
    back "The database is not as it was written (above). The release from before goes on." migrated
}
ln -sfn "$new" "$current.next" && mv -T "$current.next" "$current"

echo "4. HTTPS for $names"
units="$root/etc/systemd/system"
mkdir -p "$root/etc/caddy" "$units/caddy.service.d"
cp "$new/deploy/Caddyfile" "$root/etc/caddy/Caddyfile"
printf '[Service]\nEnvironment="BENCH_NAMES=%s" "BENCH_TLS=%s"\n' "$names" "$tls" > "$units/caddy.service.d/drumside.conf"
cp "$new"/deploy/drumside*.service "$new"/deploy/drumside*.timer "$units/"

if starts; then
    systemctl daemon-reload
    systemctl enable -q drumside caddy drumside-backup.timer drumside-check.timer drumside-try-restore.timer
    systemctl start drumside-backup.timer drumside-check.timer drumside-try-restore.timer
    systemctl restart drumside || back "The new release does not start (journalctl -u drumside)." migrated
    systemctl restart caddy
    if [ "$tls" = own-authority ]; then
        # What tablets are given (/trust) is the root's certificate, never its key.
        root_certificate=/var/lib/caddy/.local/share/caddy/pki/authorities/local/root.crt
        for _try in 1 2 3 4 5 6 7 8 9 10; do
            [ -s "$root_certificate" ] && break
            sleep 1
        done
        install -m 0644 -o drumside -g drumside "$root_certificate" "$authority"
    fi
fi

# This release and the one before stay.
for release in "$home"/releases/*; do
    [ "$release" = "$new" ] || [ "$release" = "$old" ] || rm -rf "$release"
done
echo "Done. Tablets open https://${names%%,*}/"
echo "How it is:  sudo deploy/bench status   (deploy/README.md)"
