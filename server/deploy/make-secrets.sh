#!/usr/bin/env bash
# Makes the secrets of docker-compose.yml that are not there yet, each in a file that only root and the app's account read.
set -euo pipefail
umask 077
cd /run/wareboard

secret() { head -c 24 /dev/urandom | od -An -tx1 | tr -d ' \n'; }
keep() {
  [ -s "$1" ] || { printf '%s' "$2" >"$1.new" && mv "$1.new" "$1"; }
}

for name in postgres_password owner_password app_password setup_key; do keep "$name" "$(secret)"; done
keep database_url "postgres://wareboard:$(cat app_password)@postgres:5432/wareboard"
keep database_owner_url "postgres://wareboard_owner:$(cat owner_password)@postgres:5432/wareboard"
[ -e smtp_url ] || : >smtp_url
# The account `node` of the app's image. What only Postgres reads stays root's.
chown 1000:1000 . database_url database_owner_url setup_key smtp_url
