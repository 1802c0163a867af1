#!/usr/bin/env bash
# Kills the program at random moments, fills its disk, and lets several of it write the same files.
#
#     bash tests/fuzz/accidents.sh PROGRAM [KILLS] [FULL DISKS] [RACES] [SEED]
#
# Every file that stands there afterwards must be, byte for byte, that of the issue before or that of the new one; the next
# run must end with all of them of the new one, whether it says that it left them alone or that it made them; and nothing
# else may be left. The first accident that breaks this ends the script, and its folder stays to be looked at.
set -u
program=$(realpath "$1")
kills=${2:-2000}
disks=${3:-200}
races=${4:-100}
runs=$(cd "$(dirname "$0")/../runs" && pwd)
work=$(mktemp -d)
RANDOM=${5:-1}
here=$work/here
forms=(--also html --also markdown)
caught=0 mixed=0 parts=0

fail() {
    echo "broken: $*; see $work" >&2
    exit 1
}

# The clock, in milliseconds.
now() {
    local time=${EPOCHREALTIME/[.,]/}
    echo $((time / 1000))
}

# Waits without starting a process; milliseconds.
exec {never}<> <(:)
pause() {
    local seconds
    printf -v seconds '%d.%03d' $(($1 / 1000)) $(($1 % 1000))
    read -r -t "$seconds" -u "$never" _
}

command=("$program" --quiet report bath.yaml --results bath.json "${forms[@]}")
one() {
    "${command[@]}"
}

# What a batch says of the run, when it is run again.
again() {
    "$program" report bath.yaml other.yaml "${forms[@]}" | sed -n 's/^bath.yaml  *\(made\|unchanged\).*/\1/p'
}

# The two states: the set of the issue before, and that of the new one.
mkdir "$work/before" "$work/after"
cp "$runs/short.yaml" "$work/before/bath.yaml"
cp "$runs/short.yaml" "$work/before/other.yaml"
cd "$work/before" || exit 1
one && again > /dev/null || fail "no first issue"
cp ./* "$work/after/"
cd "$work/after" || exit 1
sed -i 's/filled: 41.176 g/filled: 41.196 g/' bath.yaml
begin=$(now)
one || fail "no second issue"
time=$(($(now) - begin + 1))
[ "$(again)" = "unchanged" ] || fail "the second issue is not whole"
for file in *; do
    case $file in
        other.*) ;;
        *) cmp -s "$file" "../before/$file" && fail "$file does not tell the issues apart" ;;
    esac
done
files=(*)

# The state of the issue before, and the run file of the new one.
restore() {
    rm -rf "$here"
    cp -r "$work/before" "$here"
    cp "$work/after/bath.yaml" "$here/"
    cd "$here" || exit 1
}

# Whether the files are whole, and what the next run makes of them.
judge() {
    local file new=0 old=0 said
    for file in "${files[@]}"; do
        if cmp -s "$file" "../after/$file"; then
            [[ $file = other.* || $file = *.yaml ]] || new=$((new + 1))
        elif cmp -s "$file" "../before/$file"; then
            old=$((old + 1))
        else
            fail "$1: $file is neither of this issue nor of that"
        fi
    done
    [ "$new" -gt 0 ] && [ "$old" -gt 0 ] && mixed=$((mixed + 1))
    compgen -G '*.[0-9]*.fillmark-part' > /dev/null && parts=$((parts + 1))
    said=$(again)
    case $said in
        'unchanged') [ "$old" = 0 ] || fail "$1: a mixture is called complete" ;;
        made) [ "$old" -gt 0 ] || fail "$1: a whole set is made again" ;;
        *) fail "$1: the next run says ${said:-nothing}" ;;
    esac
    # The batch writes no results.
    if [ "$said" = made ]; then one || fail "$1: the run after it fails"; fi
    for file in *; do
        cmp -s "$file" "../after/$file" || fail "$1: $file after the next run"
    done
    [ "$(ls | wc -l)" = "${#files[@]}" ] || fail "$1: a file is missing"
}

for ((number = 1; number <= kills; number++)); do
    restore
    ln -f bath.md "$work/first"
    "${command[@]}" 2> /dev/null &
    id=$!
    case $((number % 3)) in
        0) # At any moment.
            pause $((RANDOM % (time * 5 / 4 + 1)))
            ;;
        1) # While it writes.
            until compgen -G '*.1.fillmark-part' > /dev/null || ! kill -0 $id 2> /dev/null; do :; done
            pause $((RANDOM % 12))
            ;;
        2) # While it puts files in their places, of which this one comes first.
            while [ bath.md -ef "$work/first" ] && kill -0 $id 2> /dev/null; do :; done
            if ((RANDOM % 2)); then pause $((RANDOM % 4)); fi
            ;;
    esac
    kill -KILL $id 2> /dev/null
    wait $id 2> /dev/null || caught=$((caught + 1))
    judge "kill $number"
    ((number % 100)) || echo "$number kills, $caught in time: $mixed left files of both issues, $parts unfinished ones"
done

full=0
for ((number = 1; number <= disks; number++)); do
    restore
    # Without the signal that goes with it, writing beyond the limit is an error. Blocks of 1024 bytes.
    if (trap '' XFSZ; ulimit -f $((RANDOM % 300)); one 2> /dev/null); then :; else full=$((full + 1)); fi
    compgen -G '*.fillmark-part' > /dev/null && fail "disk $number: an unfinished file is left"
    judge "disk $number"
done
echo "$disks limits on the size of files, $full of them too small"

# A disk of its own that is too small, where one may be made.
small=0
if mkdir "$work/disk" && mount -t tmpfs -o size=2m tmpfs "$work/disk" 2> /dev/null; then
    for ((number = 1; number <= disks; number++)); do
        restore
        rm -rf "$work/disk"/*
        cp ./* "$work/disk/"
        room=$(($(df --output=avail -k "$work/disk" | tail -n 1) - RANDOM % 1000))
        head -c "$((room > 0 ? room : 0))k" /dev/zero > "$work/disk/ballast"
        cd "$work/disk" || exit 1
        one 2> /dev/null || small=$((small + 1))
        rm ballast
        compgen -G '*.fillmark-part' > /dev/null && fail "small disk $number: an unfinished file is left"
        cp ./* "$here/"
        cd "$here" || exit 1
        judge "small disk $number"
    done
    umount "$work/disk"
    echo "$disks small disks, $small of them full"
else
    echo "no small disk could be made"
fi

# Several at once: each succeeds, and what stands there is one set, of whichever came last.
for ((number = 1; number <= races; number++)); do
    restore
    for run in 1 2 3; do
        sed "s/filled: 41.176 g/filled: 41.$((run + 200)) g/" "$runs/short.yaml" > "run$run.yaml"
        "$program" --quiet report "run$run.yaml" --pdf bath.pdf --results bath.json "${forms[@]}" &
    done
    for job in $(jobs -p); do wait "$job" || fail "race $number: one does not succeed"; done
    made_from=$(head -c 200 bath.pdf | sed -n 's/^%Made from //p')
    [ ${#made_from} = 64 ] || fail "race $number: the report does not say what it was made from"
    for file in bath.html bath.md bath.json $(grep -o 'bath\.[a-z_0-9-]*\.svg' bath.md); do
        head -n 3 "$file" | grep -q "$made_from" || fail "race $number: $file is of another set"
    done
    compgen -G '*.fillmark-part' > /dev/null && fail "race $number: something is left"
done
echo "$races races of three"
cd / && rm -rf "$work"
