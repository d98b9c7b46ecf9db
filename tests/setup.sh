#!/bin/sh
# Installs the Debian packages that building the program needs, if any is missing, and those of
# the groups named: build-tests, tests, browser, clang, fuzz, format, tidy, cppcheck, coverage, package.  Asks the network
# for nothing when all are there.
set -eu

packages="build-essential cmake ninja-build pkg-config gettext
  libglib2.0-dev libpng-dev libjpeg62-turbo-dev libtiff-dev liblcms2-dev nettle-dev
  libcairo2-dev libpango1.0-dev libjansson-dev
  libopencv-core-dev libopencv-imgcodecs-dev libopencv-imgproc-dev libopencv-calib3d-dev libopencv-videoio-dev
  libsqlite3-dev libsodium-dev libssl-dev libxml2-dev libqrencode-dev libseccomp-dev
  libaravis-dev libusb-1.0-0-dev libmicrohttpd-dev libgnutls28-dev libcurl4-openssl-dev
  libisal-dev libpq-dev
  fonts-dejavu-core"

for group in "$@"; do
  case $group in
  # What building them needs: besides cmocka a quick linker, what linking statically asks for, and a
  # locale with a decimal comma.
  build-tests) packages="$packages lld libcmocka-dev libudev-dev locales" ;;
  # And what running them does: a time stamp service, text and fonts of a PDF, XML by its schema,
  # photographs of a chessboard with published intrinsics, a batch system for one node, a database
  # server of the test's own.
  tests) packages="$packages openssl poppler-utils libxml2-utils opencv-doc libzbar0 slurm-wlm
    postgresql-15" ;;
  # A browser, and what drives it, which comes from npm below.
  browser)
    packages="$packages chromium"
    command -v npm >/dev/null || packages="$packages nodejs npm"
    ;;
  clang) packages="$packages clang" ;;
  fuzz) packages="$packages clang libcmocka-dev" ;;
  format) packages="$packages git clang-format-14" ;;
  # clang-tidy reads the commands of a build that has the tests.
  tidy) packages="$packages git clang clang-tidy-14 libcmocka-dev" ;;
  cppcheck) packages="$packages cppcheck" ;;
  coverage) packages="$packages gcovr llvm-14" ;;
  package) packages="$packages debootstrap" ;;
  *)
    echo "setup.sh: no group \"$group\"" >&2
    exit 64
    ;;
  esac
done

missing=
for package in $packages; do
  state=$(dpkg-query -W -f '${db:Status-Status}' "$package" 2>/dev/null || true)
  [ "$state" = installed ] || missing="$missing $package"
done

# What drives the browser goes below build; without it those tests are skipped, and say so.
take_from_npm() {
  here=$(cd "$(dirname "$0")" && pwd)
  there=$here/../build/browser
  case " $* " in *" browser "*) ;; *) return 0 ;; esac
  cmp -s "$here/browser/package-lock.json" "$there/package-lock.json" && return 0
  mkdir -p "$there"
  cp "$here/browser/package.json" "$there"
  cp "$here/browser/package-lock.json" "$there/package-lock.new"
  if (cd "$there" && cp package-lock.new package-lock.json && npm ci --ignore-scripts --no-audit --no-fund >/dev/null); then
    rm "$there/package-lock.new"
  else
    rm -rf "$there"
    echo "setup.sh: npm gave no playwright-core and axe-core: the browser tests are skipped" >&2
  fi
}

if [ -z "$missing" ]; then
  take_from_npm "$@"
  exit 0
fi

if [ "$(id -u)" -eq 0 ]; then
  as_root=
elif sudo -n true 2>/dev/null; then
  as_root="sudo -n"
elif [ -t 0 ] && command -v sudo >/dev/null; then
  as_root=sudo
else
  echo "These Debian packages are missing; install them as root, then try again:" >&2
  echo "  apt-get install$missing" >&2
  exit 1
fi

echo "Installing$missing"
# The words of as_root and missing are meant to be split.
# shellcheck disable=SC2086
{
  $as_root apt-get -qq -o DPkg::Lock::Timeout=600 update
  $as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get -qq -o DPkg::Lock::Timeout=600 install --no-install-recommends -y $missing >/dev/null
}
take_from_npm "$@"
