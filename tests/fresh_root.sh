#!/bin/bash
# Do the two commands of the README work on a Debian 12 that has nothing but the base system?
#
# usage: sudo tests/fresh_root.sh [demo] [test] [user] [keep]
#
#   demo, test  what to run, in this order; both when neither is named
#   user        run as an ordinary user with sudo instead of as root
#   keep        leave the fresh root where it is and say where
#
# Makes a minimal root with debootstrap in a temporary folder, copies the files git knows of into
# it, shows that without a network the script says so, and then times each command. Needs root and
# debootstrap; package sources and proxy are those of this machine's apt, npm's registry and
# certificates those of its npm. Downloaded packages are
# kept in $FIRSTGLOW_DEB_CACHE (default: firstglow-debs in the temporary folder) for the next time.
set -euo pipefail

source_root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
temporary=${TMPDIR:-/tmp}
cache=${FIRSTGLOW_DEB_CACHE:-$temporary/firstglow-debs}
commands=()
environment=()
as_user=no
keep=no
for word in "$@"; do
  case $word in
    demo | test) commands+=("$word") ;;
    user) as_user=yes ;;
    keep) keep=yes ;;
    *) sed -n '2,/^set/s/^# \{0,1\}//p' "${BASH_SOURCE[0]}" >&2; exit 2 ;;
  esac
done
[ ${#commands[@]} -gt 0 ] || commands=(demo test)

say() { printf '\n== fresh root: %s\n' "$*"; }

# Package sources of this machine as plain lines: "URI suite component...".
sources() {
  # shellcheck disable=SC2016  # the dollars are apt's
  apt-get indextargets --format '$(REPO_URI) $(SUITE) $(CODENAME) $(COMPONENT)' 'Created-By: Packages' |
    awk '$3 ~ /^bookworm/ { print $1, $3, $4 }' | sort -u
}

make_root() {
  local mirror
  mirror=$(sources | awk '$2 == "bookworm" { print $1; exit }')
  [ -n "$mirror" ] || { echo "apt on this machine knows no bookworm source" >&2; exit 1; }
  mkdir -p "$cache/base" "$cache/apt"
  debootstrap --variant=minbase --cache-dir="$cache/base" bookworm "$root" "$mirror" \
    >"$root.log" 2>&1 || { tail -n 20 "$root.log" >&2; exit 1; }
  sources | sed 's/^/deb /' >"$root/etc/apt/sources.list"
  apt-config dump | grep -iE '^Acquire::(https?::|Check-)' >"$root/etc/apt/apt.conf.d/90machine" || true
  cp -L /etc/resolv.conf /etc/hosts "$root/etc/" 2>/dev/null || true
  if [ -r "${NODE_EXTRA_CA_CERTS:-}" ]; then
    cp "$NODE_EXTRA_CA_CERTS" "$root/etc/npm-certificates.pem"
    environment+=(NODE_EXTRA_CA_CERTS=/etc/npm-certificates.pem)
  fi
  if command -v npm >/dev/null; then
    environment+=(npm_config_registry="$(npm config get registry)")
  fi
  touch "$root/dev/ptmx"
}

copy_tree() {
  mkdir -p "$root/srv/firstglow"
  git -c safe.directory='*' -C "$source_root" ls-files -z |
    tar -C "$source_root" --null -T - -c | tar -C "$root/srv/firstglow" --no-same-owner -x
}

# inside [unshare option] COMMAND: run in the root with its own /proc and terminals; mounts vanish
# with it.
inside() {
  local more=()
  while [[ $1 == --* ]]; do more+=("$1"); shift; done
  # shellcheck disable=SC2016  # the dollars are the inner shell's
  unshare --mount --pid --fork "${more[@]}" --mount-proc="$root/proc" \
    sh -c 'mount -t devpts -o newinstance,ptmxmode=0666 devpts "$1/dev/pts" &&
           mount --bind "$1/dev/pts/ptmx" "$1/dev/ptmx" && exec chroot "$@"' mounted \
    "$root" /usr/bin/env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin HOME=/ LANG=C.UTF-8 \
    "${environment[@]}" "${prefix[@]}" sh -c "$1"
}

make_user() {
  inside 'apt-get -q -y update && apt-get -q -y --no-install-recommends install sudo' >"$root.log" 2>&1
  inside 'useradd --create-home builder && echo "builder ALL=(ALL) NOPASSWD: ALL" >/etc/sudoers.d/builder
    chown -R builder /srv/firstglow'
  prefix=(setpriv --reuid builder --regid builder --clear-groups)
}

finish() {
  cp -n "$root"/var/cache/apt/archives/*.deb "$cache/apt/" 2>/dev/null || true
  if [ $keep = yes ]; then say "kept in $root"; else rm -rf --one-file-system "$root" "$root.log"; fi
}

root=$(mktemp -d "$temporary/firstglow-root.XXXXXX")
chmod 755 "$root"
trap finish EXIT
prefix=()
say "making a minimal bookworm"
make_root
copy_tree

say "without a network: bootstrap.sh setup must end with code 12 and say why"
code=0
inside --net 'cd /srv/firstglow && sh bootstrap.sh setup' 2>&1 | tail -n 3 || code=${PIPESTATUS[0]}
[ "$code" -eq 12 ] || { echo "fresh root: expected code 12, got $code" >&2; exit 1; }

cp "$cache"/apt/*.deb "$root/var/cache/apt/archives/" 2>/dev/null || true
[ $as_user = no ] || make_user

for command in "${commands[@]}"; do
  for round in first second; do
    say "sh bootstrap.sh $command ($round time)"
    started=$(date +%s)
    inside "cd /srv/firstglow && sh bootstrap.sh $command"
    say "$command, $round time: $(($(date +%s) - started)) s"
  done
done
