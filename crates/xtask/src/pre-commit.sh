#!/bin/sh
# storypole hook, written by `cargo xtask hooks`, which replaces only a file with this line.
# Formats the crates of the staged Rust files and stages those files again.
set -eu

# A hooks folder may serve several projects.
[ -f crates/xtask/src/pre-commit.sh ] || exit 0

staged=$(git -c core.quotePath=false diff --cached --name-only --diff-filter=ACMR -- '*.rs')
[ -n "$staged" ] || exit 0
unstaged=$(git -c core.quotePath=false diff --name-only -- '*.rs')

printf '%s\n' "$staged" |
    sed -n -e 's|^\(crates/[^/]*\)/.*|\1|p' -e 's|^tests/.*|tests|p' |
    sort -u |
    while IFS= read -r folder; do
        cargo fmt --manifest-path "$folder/Cargo.toml"
    done

printf '%s\n' "$staged" |
    while IFS= read -r file; do
        # What was deliberately left out of the commit must not slip in.
        if printf '%s\n' "$unstaged" | grep -Fqx -e "$file"; then
            echo "$file also has changes that are not staged: formatted, but not staged again" >&2
        else
            git add -- "$file"
        fi
    done
