"""Write a workbook in a process of its own: of a large site it is a quarter of a minute of work, which would hold up the server.

`python -m spanwalk.services.files.sheets_process FILE` reads a file of `sheets_apart.WorkbookApart` and writes the workbook to its output.
"""

from __future__ import annotations

import os
import resource
import sys
from pathlib import Path

import orjson

from spanwalk.services.files.sheets_out import OutTable, as_workbook

MEMORY_BYTES_MOST = 4 * 1024**3
PROCESSOR_S_MOST = 300
KINDLY = 5
"""By how much it stands back behind the server's own work."""


def main(arguments: list[str]) -> int:
    """Read the tables that are named, and write the workbook."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES_MOST, MEMORY_BYTES_MOST))
    resource.setrlimit(resource.RLIMIT_CPU, (PROCESSOR_S_MOST, PROCESSOR_S_MOST))
    os.nice(KINDLY)
    with Path(arguments[0]).open("rb") as file:
        made_on, *tables = map(orjson.loads, file)
    sys.stdout.buffer.write(as_workbook([OutTable(**each) for each in tables], made_on))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
