#!/bin/sh
# Measures `griptrial slip` beside its peers in one run: CPU seconds (user+system),
# least of five, and the most memory. sh run.sh GRIPTRIAL DIR, with DIR from make.py.
set -e
tool=$1 dir=$2 here=$(dirname "$0")
cc -O2 -o "$dir/scan" "$here/peer_scan.c"
least() {
  what=$1; shift
  for k in 1 2 3 4 5; do
    /usr/bin/time -f "%U %S %e %M" -o "$dir/time" "$@" > "$dir/out"
    awk '{print $1 + $2, $3, $4 / 1024}' "$dir/time"
  done | sort -n | awk -v what="$what" 'NR == 1 {printf "%-28s %5.2f s CPU  %5.2f s wall  %4.0f MB\n", what, $1, $2, $3}'
}
least "griptrial, 1,000 traces" "$tool" slip --json "$dir"/many/*.csv
least "numpy, 1,000 traces" "${PYTHON:-python3}" "$here/peer_numpy.py" "$dir"/many/*.csv
command -v Rscript > /dev/null && least "R fread, 1,000 traces" Rscript "$here/peer_fread.R" "$dir"/many/*.csv
least "C scan, 1,000 traces" "$dir/scan" "$dir"/many/*.csv
least "griptrial, 5 million samples" "$tool" slip --json "$dir/big.csv"
