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

# Builds a target and shows how far it is; what the compiler said is shown only where it failed.
build_release() {
    local root=$1 target=$2 log status=0
    log=$(mktemp)
    if [ ! -f "$root/build/release/build.ninja" ]; then
        cmake -S "$root" --preset release >"$log" 2>&1 || { cat "$log" >&2; rm -f "$log"; return 1; }
    fi
    cmake --build "$root/build/release" --target "$target" | tee "$log" | building_progress || status=1
    [ $status -eq 0 ] || cat "$log" >&2
    rm -f "$log"
    return $status
}

# Turns the build's own lines, "[12/58] Building ...", into one line that moves or, in a log, into a line now and then.
building_progress() {
    local moves=0
    [ -t 2 ] && moves=1
    awk -v moves=$moves '
        match($0, /^\[[0-9]+\/[0-9]+\]/) {
            split(substr($0, 2, RLENGTH - 2), part, "/")
            if (moves) printf "\rBuilding: %d of %d ", part[1], part[2]
            else if (part[1] == part[2] || part[1] % 10 == 1) printf "Building: %d of %d\n", part[1], part[2]
            fflush()
            built = 1
        }
        END { if (moves && built) printf "\r%40s\r", "" }' >&2
}
