#!/bin/sh
# For every change of the main branch, on any code host: build the pages and put them in their place.
#
#   sh ci/publish.sh DIR      DIR is the folder that is served
#
# EDITION=client builds what clients may read; SITE=KEY only that site. The internal edition holds
# what no stranger should read: serve it only to your own people. asbuilt has to be installed, and
# the clone whole: the change log is computed from its history.
set -eu
output=$(mkdir -p "${1:?say where to: sh ci/publish.sh DIR}" && cd "$1" && pwd)
cd "$(dirname "$0")/.."

asbuilt check ${SITE:+"$SITE"}
asbuilt build --edition "${EDITION:-internal}" ${SITE:+--site "$SITE"} --output "$output"
