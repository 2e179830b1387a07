"""MusicXML on standard input, Verovio's MEI on standard output; run as a process of its own.

Verovio 6.4 ends its process on some malformed files (a meter without `beat-type` divides by zero),
and what it has to say it writes to standard error only. Apart from the caller it can do neither
harm nor go unheard.
"""

from __future__ import annotations

import resource
import sys

MAX_MEMORY_BYTES = 2 * 1024**3
"""Address space. A quartet of 19,000 notes took 163 MB of memory (Verovio 6.4.1)."""


def main() -> int:
    """Convert standard input; return 1 where there is nothing to convert."""
    resource.setrlimit(resource.RLIMIT_AS, (MAX_MEMORY_BYTES, MAX_MEMORY_BYTES))
    import verovio

    toolkit = verovio.toolkit()
    # Without line breaks it lays out nothing, which saves a third of the time.
    toolkit.setOptions({"xmlIdChecksum": True, "breaks": "none"})
    if not toolkit.loadData(sys.stdin.buffer.read().decode()):
        return 1
    sys.stdout.buffer.write(toolkit.getMEI().encode())
    return 0


if __name__ == "__main__":
    sys.exit(main())
