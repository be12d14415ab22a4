#!/bin/sh
# What a container runs: a secret of its own, the newest schema, the server; and a copy of the database every night.
set -eu
secret=$DRUMSIDE_SECRET_KEY_FILE
[ -s "$secret" ] || (umask 077 && head -c 48 /dev/urandom | base64 -w 0 > "$secret")
flask --app webapp migrate
(
    while sleep 86400; do
        flask --app webapp backup || echo "the copy was not made (flask status says why)" >&2
    done
) &
exec gunicorn -c deploy/gunicorn.conf.py webapp.wsgi:app
