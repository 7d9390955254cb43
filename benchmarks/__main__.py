"""python -m benchmarks [NAME…]: ratios, each against something plain, in one run.

Each benchmark is a module of this package with a `run()` that prints its lines.
"""

from __future__ import annotations

import importlib
import pkgutil
import sys
from collections.abc import Sequence

import benchmarks


def names() -> list[str]:
    found = (module.name for module in pkgutil.iter_modules(benchmarks.__path__))
    return sorted(name for name in found if not name.startswith("_"))


def main(wanted: Sequence[str]) -> int:
    known = names()
    for name in wanted or known:
        if name not in known:
            print(f"there is no benchmark {name!r}; there are: {', '.join(known)}")
            return 2
    for name in wanted or known:
        print(f"== {name}", flush=True)
        importlib.import_module(f"benchmarks.{name}").run()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
