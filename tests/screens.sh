#!/bin/sh
# Takes the pictures of every screen, light and dark, in two sizes, into docs/pictures/all (not kept) or FOLDER.
# Needs: Xvfb, ImageMagick (convert); Debian: apt-get install xvfb imagemagick libgl1-mesa-dri libxkbcommon-x11-0
# Usage: tests/screens.sh [--docs] [FOLDER]; with --docs the pictures of docs/window.md are copied from there.
set -eu
cd "$(dirname "$0")/.."
docs=no
if [ "${1:-}" = --docs ]; then docs=yes; shift; fi
folder=$(realpath -m "${1:-docs/pictures/all}") # the window writes there from where it is
mkdir -p "$folder"
target=${CARGO_TARGET_DIR:-target}
cargo build -q -p gui --no-default-features --features pictures
for size in 1280x720 1920x1080; do
    for look in light dark; do
        rm -rf "$folder/data" "$folder/empty" "$folder/scratch"
        rm -f "$folder"/window-*-"$look-$size".ppm
        # Each window has a display of its own: a covered one isn't drawn.
        LEGRAISE_PICTURES="$folder" LEGRAISE_PICTURES_LOOK=$look LEGRAISE_PICTURES_SIZE=$size \
            timeout 180 xvfb-run -a -s "-screen 0 ${size}x24" "$target/debug/legraise"
    done
done
rm -rf "$folder/data" "$folder/empty" "$folder/scratch"
for picture in "$folder"/window-*.ppm; do
    convert "$picture" -colors 128 -define png:compression-level=9 "${picture%.ppm}.png"
    rm "$picture"
done
count=$(ls "$folder"/window-*.png | wc -l)
echo "$count pictures in $folder"
[ "$count" -eq 116 ] || { echo "expected 116: 29 states, 2 sizes, light and dark" >&2; exit 1; }
if [ "$docs" = yes ]; then
    mkdir -p docs/pictures
    for name in start cautions sensors-check table agree ready rising end-point result recordings \
        clients drill pacer recheck course report; do
        cp "$folder/window-$name-light-1280x720.png" "docs/pictures/window-$name.png"
    done
    for name in end-point lost; do
        cp "$folder/window-$name-dark-1280x720.png" "docs/pictures/window-$name-dark.png"
    done
fi
