# Shared by ./run and ./test (sourced, not run): finds or installs what the build needs, then builds.
# On Debian and its kin the missing packages are installed (as root or with sudo) and named; elsewhere
# the list is printed and the build is tried with what is there.

packages=(g++ cmake ninja-build pkg-config libfmt-dev nlohmann-json3-dev libvalijson-dev libeigen3-dev
          libassimp-dev libtbb-dev libpng-dev libsqlite3-dev libssl-dev libcairo2-dev libcli11-dev
          fonts-dejavu-core libglfw3-dev libimgui-dev libglm-dev python3-glad libgl-dev libegl-dev libgl1-mesa-dri libegl1 xvfb
          catch2 libboost-dev librapidcheck-dev libbenchmark-dev python3-numpy python3-scipy poppler-utils)

install_missing() {
    if ! command -v dpkg-query >/dev/null || ! command -v apt-get >/dev/null; then
        echo "This is not a Debian system. The build needs, under these names or others:"
        printf '  %s\n' "${packages[@]}"
        echo "Trying with what is here."
        return 0
    fi
    local missing=() name
    for name in "${packages[@]}"; do
        dpkg-query -W -f='${Status}' "$name" 2>/dev/null | grep -q 'ok installed' || missing+=("$name")
    done
    [ ${#missing[@]} -eq 0 ] && return 0
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        if ! command -v sudo >/dev/null; then
            echo "These packages are missing and neither root nor sudo is at hand: ${missing[*]}" >&2
            return 1
        fi
        as_root=(sudo)
    fi
    echo "Installing missing Debian packages: ${missing[*]}"
    "${as_root[@]}" apt-get update -qq || echo "(package lists could not be refreshed; going on with the old ones)"
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends \
        "${missing[@]}" >/dev/null
}

build_release() {
    local root=$1 target=$2
    if [ ! -f "$root/build/release/build.ninja" ]; then
        cmake -S "$root" --preset release >"$root/.configure.log" 2>&1 ||
            { cat "$root/.configure.log" >&2; rm -f "$root/.configure.log"; return 1; }
        rm -f "$root/.configure.log"
    fi
    cmake --build "$root/build/release" --target "$target"
}
