#!/usr/bin/env bash
# How many instructions and how much memory `wale check` and `wale rewrite`
# take, as a table in Markdown: `bash benches/callgrind.sh`. Needs valgrind.
# Unlike time, instructions hardly differ from run to run, or with the load of
# the machine.
set -euo pipefail
cd "$(dirname "$0")/.."

cargo build --release --quiet
wale=$PWD/target/release/wale
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT

# A flat piece of so many written rows in so many sizes; 20,000 are 0.7 MB of
# the million bytes that a pattern may have.
strip() {
  local names="S1" counts="40"
  for ((size = 2; size <= $2; size++)); do
    names+=", S$size"
    counts+="$([ "$size" = 2 ] && echo " (" || echo ", ")$((36 + 4 * size))"
  done
  [ "$2" = 1 ] || counts+=")"
  printf -- '---\ntitle: Strip\nsizes: [%s]\ngauges:\n' "$names"
  printf -- '  body: { stitches: 20, rows: 28, over: 10 cm }\n---\n\n## Strip, flat\n\n'
  printf -- '- cast on %s in body\n' "$counts"
  for ((row = 1; row <= $1; row++)); do
    echo "- row $row: *k2, p2; rep from *"
  done
  echo "- bind off all"
}

# Millions of instructions of a command line.
instructions() {
  valgrind --tool=callgrind --callgrind-out-file="$folder/out" "$@" 2>&1 > /dev/null |
    awk '/refs/ { gsub(",", "", $NF); printf "%.1f", $NF / 1000000 }'
}

# The most memory a command line takes, in megabytes.
megabytes() {
  /usr/bin/time -f '%M' "$@" 2>&1 > /dev/null | awk '{ printf "%.1f", $1 / 1024 }'
}

line() {
  echo "| $1 | $(instructions "${@:2}") | $(megabytes "${@:2}") |"
}

echo "| | million instructions | MB at most |"
echo "|---|---|---|"
line "\`wale --version\`: starting alone" "$wale" --version
for name in slipway-cap boathouse-pullover harbourlight-cardigan; do
  line "check $name" "$wale" check "samples/$name.wale"
  line "rewrite $name" "$wale" rewrite "samples/$name.wale" --to "samples/$name.coarser.yaml" --as source
done
for shape in "250 9" "1000 1" "1000 3" "1000 9" "4000 9" "20000 9"; do
  read -r rows sizes <<< "$shape"
  strip "$rows" "$sizes" > "$folder/strip.wale"
  line "check $rows rows in $sizes sizes" "$wale" check "$folder/strip.wale"
done
