#!/bin/sh
# Builds the Debian package, installs it with apt in a bare Debian 12, measures a picture with it
# there, and removes it again.  Skips (status 77) where it isn't root or debootstrap is missing.
# The bare system is made once and kept in WHETSIGHT_CHROOT, /var/tmp/whetsight-bookworm by
# default; what is installed goes to a copy.
set -eu
cd "$(dirname "$0")/.."

if [ "$(id -u)" -ne 0 ]; then
  echo "SKIP: a chroot needs root"
  exit 77
fi
if ! command -v debootstrap >/dev/null; then
  echo "SKIP: debootstrap is missing"
  exit 77
fi

cmake --preset package -Wno-dev "$@" >/dev/null
cmake --build --preset package
rm -f build/package/*.deb
(cd build/package && cpack -G DEB)
set -- build/package/whetsight_*.deb
deb=$1
dpkg-deb --info "$deb"

mirror=$(apt-get indextargets --format '$(REPO_URI) $(RELEASE)' 'Created-By: Packages' |
  awk '$2 == "bookworm" { print $1; exit }')
bare=${WHETSIGHT_CHROOT:-/var/tmp/whetsight-bookworm}
if [ ! -e "$bare/complete" ]; then
  rm -rf --one-file-system "$bare"
  mkdir -p "$bare"
  debootstrap --variant=minbase bookworm "$bare/root" "${mirror:-http://deb.debian.org/debian}"
  touch "$bare/complete"
fi

root=$bare/run
rm -rf --one-file-system "$root"
cp -a "$bare/root" "$root"
trap 'rm -rf --one-file-system "$root"' EXIT
cp "$deb" "$root/tmp/whetsight.deb"
cp images/good-118.png images/QT-D-0118.tool "$root/tmp/"
cp /etc/resolv.conf "$root/etc/resolv.conf" 2>/dev/null || true

inside() {
  chroot "$root" env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin LC_ALL=C.UTF-8 \
    DEBIAN_FRONTEND=noninteractive "$@"
}

inside apt-get -qq update
inside apt-get -qq install --no-install-recommends -y /tmp/whetsight.deb >/dev/null

# What was installed works: the program, a good drill, a picture that only OpenCV's module reads,
# and the texts are where they are looked for.
inside whetsight --version
inside whetsight measure --tool /tmp/QT-D-0118.tool --scale 0.01423 --out /tmp/out /tmp/good-118.png
[ -s "$root/tmp/out/good-118.annotated.png" ]

# A white bitmap, 64 x 48, holds no tool: retake.
{
  printf 'BM\066\044\0\0\0\0\0\0\066\0\0\0\050\0\0\0\100\0\0\0\060\0\0\0\001\0\030\0'
  head -c 24 /dev/zero
  head -c 9216 /dev/zero | tr '\0' '\377'
} >"$root/tmp/white.bmp"
status=0
inside whetsight measure --view drill-side /tmp/white.bmp || status=$?
[ "$status" -eq 3 ]

for file in man/man1/whetsight.1 man/man1/whetsight-measure.1 \
  bash-completion/completions/whetsight doc/whetsight/copyright; do
  [ -s "$root/usr/share/$file" ]
done

inside apt-get -qq purge -y whetsight >/dev/null
left=$(find "$root/usr" "$root/etc" -name '*whetsight*')
if [ -n "$left" ]; then
  printf 'left after removal:\n%s\n' "$left" >&2
  exit 1
fi
echo "$(basename "$deb") installs, measures and leaves nothing behind"
