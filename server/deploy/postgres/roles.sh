#!/usr/bin/env bash
# At the first start of an empty database server: one role owns the tables, another, which the app uses, may only fill
# them. Neither is a superuser.
set -euo pipefail

psql -v ON_ERROR_STOP=1 --username "${POSTGRES_USER:-postgres}" --dbname "${POSTGRES_DB:-postgres}" <<SQL
create role wareboard_owner login password '$(cat /run/wareboard/owner_password)';
create role wareboard login password '$(cat /run/wareboard/app_password)';
create database wareboard owner wareboard_owner;
revoke all on database wareboard from public;
grant connect on database wareboard to wareboard;
SQL
