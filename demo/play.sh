# What 'demo/run' and 'demo/crowd' share, to be sourced: a server of its own, and every file of the
# invented project filed by the role that would file it.
# shellcheck shell=bash disable=SC2034 # who sources it reads the rest

here=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
bin=${CARGO_TARGET_DIR:-$here/target}/release
work=$(mktemp -d "${TMPDIR:-/tmp}/quillfern.XXXXXX")
data=$work/data
keys=$work/keys
project=projects/quillfern
server_pid=
plugin_pid=
whole=no
# Whether the plan has a check of the owner's own, which a plug-in makes.
owner_check=${owner_check:-no}
keep=${keep:-no}
export LC_ALL=C NO_COLOR=1

finish() {
    # A run that broke off keeps its folder with --keep, but no server.
    [ "$whole" = no ] || [ "$keep" = no ] || return 0
    if [ -n "$server_pid" ]; then
        kill "$server_pid" 2>/dev/null || true
        wait "$server_pid" 2>/dev/null || true
    fi
    if [ -n "$plugin_pid" ]; then
        kill "$plugin_pid" 2>/dev/null || true
        wait "$plugin_pid" 2>/dev/null || true
    fi
    [ "$keep" = yes ] || rm -rf "$work"
}
trap finish EXIT

heading() { printf '\n%s\n' "$1"; }
say() { printf '  %s\n' "$1"; }
indented() { sed 's/^/  /'; }

fail() {
    printf '\n%s\n' "$1" >&2
    if [ -f "$work/server.log" ]; then tail -n 5 "$work/server.log" >&2; fi
    exit 1
}

# obvert ROLE ARGUMENTS...: the command line client with the key of a role.
obvert() {
    local role=$1
    shift
    "$bin/obvert" --server "$server" --key-file "$keys/$role" "$@"
}

# quiet ROLE ARGUMENTS...: the same, silent unless it fails.
quiet() {
    obvert "$@" >"$work/last.txt" 2>&1 || { cat "$work/last.txt" >&2; fail "refused: $*"; }
}

load() { quiet "$1" record load "$data/$2.jsonl" --project quillfern; }

import() { quiet "$1" "$2" import "$data/$3.csv" --map "$data/$3.map.toml" --project quillfern; }

designs_into_orders() {
    obvert office --json wall-design list --project quillfern >"$work/designs.json"
    "$bin/quillfern" --orders "$data" "$work/designs.json"
}

status() { obvert owner --json point list "$project" >"$work/status.json"; }

# Puts the files of attachments.ROLE.tsv, with the key of that role.
attachments() {
    local table role
    for table in "$data"/attachments.*.tsv; do
        role=${table%.tsv}
        quiet "${role##*.}" attachment put-all "$table" --project quillfern
    done
}

build() {
    heading "Building the server, the client and the generator (a few minutes the first time)"
    (cd "$here" && cargo build --release --locked --quiet \
        -p obvert-server -p obvert-cli -p obvert-demo -p obvert-plugin-example)
}

start_plugin() {
    cat >>"$work/server.toml" <<TOML

[[plugin]]
id = "working-hours"
kinds = ["evaluator", "package-section"]
address = "unix:$work/hours.sock"
TOML
    "$bin/obvert-plugin-example" "unix:$work/hours.sock" >"$work/plugin.log" 2>&1 &
    plugin_pid=$!
}

# Waits until the plug-in has judged what was filed last: the server asks it in the background.
hear_plugin() {
    local waiting=1
    for _ in $(seq 300); do
        obvert owner point list "$project" --held >"$work/held.txt"
        waiting=$(grep -c 'in the background' "$work/held.txt" || true)
        [ "$waiting" -gt 0 ] || return 0
        sleep 0.2
    done
    fail "the plug-in has not judged $waiting points"
}

start_server() {
    heading "Starting a server with an empty store"
    mkdir -p "$keys"
    chmod 700 "$keys"
    cat >"$work/server.toml" <<TOML
listen = "127.0.0.1:0"
address_file = "$work/address"
store = "$work/store"
signing_key = "$work/signing.pem"
fingerprint_source = "The invented office of Copperbeck Utilities tells the fingerprint by telephone."
TOML
    [ "$owner_check" = no ] || start_plugin
    "$bin/obvertd" key new --config "$work/server.toml" >"$work/key.txt"
    fingerprint=$(sed -n 's/.*fingerprint is //p' "$work/key.txt")
    "$bin/obvertd" serve --config "$work/server.toml" >"$work/server.log" 2>&1 &
    server_pid=$!
    for _ in $(seq 100); do
        [ ! -f "$work/address" ] || break
        kill -0 "$server_pid" 2>/dev/null || fail "the server did not start"
        sleep 0.1
    done
    server="http://$(cat "$work/address")"
    say "serving on $server"
    cp "$work/store/bootstrap.key" "$keys/bootstrap"
    chmod 600 "$keys/bootstrap"
    local role person
    for person in office crew laboratory inspector designer engineer owner; do
        role=$person
        [ "$person" != designer ] || role=engineer
        quiet bootstrap key new "$person" "person/$person" --role "quillfern:$role" \
            --out "$keys/$person"
    done
    say "keys made: office, crew, laboratory, inspector, designer, engineer, owner"
}

file_contract() {
    heading "Contract, plan and register"
    quiet office project create quillfern "$data/project-without-plan.json"
    local plan=$here/deploy/plans/marrowby.toml
    if [ "$owner_check" = yes ]; then
        cat "$plan" "$here/demo/working-hours.toml" >"$work/plan.toml"
        plan=$work/plan.toml
    fi
    quiet owner plan add marrowby "$plan" --project quillfern
    quiet office project revise "$project" "$data/project.json" --reason "The owner's plan is in"
    quiet office maker-sheet create fg-25 "$data/maker-sheet.json" --project quillfern
    import office parcel parcels
    import office segment segments
    import office lateral laterals
    import office parcel-relation parcel-relations
    attachments
    load office papers
    load office permits
    say "the owner's tables came in by their column maps, in feet and inches"
}

file_design_and_liners() {
    heading "Field surveys, designs, orders, liners"
    load crew registers
    load crew field-surveys
    load designer designs
    designs_into_orders
    load office orders
    load designer designs-reissued
    designs_into_orders
    load office orders-again
    load office batches
    load office liners
    load office certificates
    load crew receiving-checks
    load crew movements
}

file_runs() {
    heading "Notices, surveys, runs, laterals, cure logs"
    load crew notices
    load crew surveys-before
    load crew runs
}

# The logs, each a call of its own, four at the same time.
cure_logs() {
    local log run
    for log in "$data"/cure/*.csv; do
        run=$(basename "$log" .csv)
        printf 'cure-record import "%s" --run %s/runs/%s\n' "$log" "$project" "$run"
    done |
        xargs -P 4 -L 1 "$bin/obvert" --server "$server" --key-file "$keys/crew" \
            >"$work/last.txt" 2>&1 ||
        { tail -n 5 "$work/last.txt" >&2; fail "a cure log was not filed"; }
}

file_what_followed() {
    load crew outcomes
    load crew day-closes
    cure_logs
    load crew samples
    load crew leak-tests
    load crew surveys-after
    import laboratory laboratory-report laboratory
    load engineer nonconformances
    load inspector yards
    say "$(find "$data/cure" -name '*.csv' | wc -l | tr -d ' ') cure logs read and filed"
}

# Names of the records of a kind, one a row.
names_of() {
    obvert owner --json "$1" list --project quillfern | grep -o '"name":"[^"]*"' | cut -d '"' -f 4
}

# compare FILE: the inspector agrees with the papers that a file lists, one by one.
compare() {
    # One call a paper: each is a statement of its own.
    xargs -P 4 -I '{}' "$bin/obvert" --server "$server" --key-file "$keys/inspector" \
        paper check '{}' --agrees <"$1" >"$work/last.txt" 2>&1 ||
        { tail -n 5 "$work/last.txt" >&2; fail "a paper was not compared"; }
}

# Names of all papers that the office typed; the inspector's own, about yards, need no second role.
papers() {
    names_of liner-certificate
    names_of document | grep -v '/documents/yard-'
}

# Releases everything that waits on the segments that quillfern lists, until nothing does.
release_all() {
    local segment point role
    while status; "$bin/quillfern" --releases "$data" "$work/status.json" "$@" >"$work/waits.tsv"
        [ -s "$work/waits.tsv" ]; do
        while IFS=$'\t' read -r segment point role; do
            quiet "$role" point release "$project/segments/$segment" "$point"
        done <"$work/waits.tsv"
    done
}
