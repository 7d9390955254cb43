#!/bin/sh
# For every pull request, on any code host: check the records, and tell what the branch changes.
#
#   sh ci/check.sh [BASE]     BASE is what it is to be merged into; origin/main unless it is said
#
# The summary (Markdown) goes to the file that SUMMARY names, else to standard output. asbuilt has to
# be installed, and the clone whole: a shallow one has no history to compare with.
set -eu
cd "$(dirname "$0")/.."
base=${1:-origin/main}

sound=0
asbuilt check --jobs || sound=$?
if [ -n "${SUMMARY:-}" ]; then
  asbuilt diff --format markdown "$base...HEAD" > "$SUMMARY"
else
  asbuilt diff --format markdown "$base...HEAD"
fi
exit "$sound"
