#!/bin/sh
# Puts axe-core, at the version and checksum of package-lock.json, into FOLDER/node_modules.
# usage: fetch_axe.sh FOLDER
set -u
cd "$1" || exit 1
stamp=node_modules/.firstglow-lock
[ -f node_modules/axe-core/axe.min.js ] && cmp -s package-lock.json "$stamp" && exit 0
command -v npm >/dev/null 2>&1 || {
  echo "npm is missing; sh bootstrap.sh setup installs it" >&2
  exit 1
}
if ! npm ci --no-audit --no-fund --ignore-scripts >npm.log 2>&1; then
  tail -n 15 npm.log >&2
  echo "axe-core could not be fetched from the package registry that npm is set to. Check the" \
    "network and 'npm config get registry', then run this again." >&2
  exit 1
fi
cp package-lock.json "$stamp"
