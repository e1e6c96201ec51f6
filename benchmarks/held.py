"""What the service holds: memory and open files of its processes."""

from __future__ import annotations

from pathlib import Path


def held(parent: int) -> tuple[float, int]:
    """Return the memory [MB] and the open descriptors of all descendants of a process."""
    memory, files = 0.0, 0
    children = Path(f"/proc/{parent}/task/{parent}/children").read_text(encoding="ascii").split()
    for pid in children:
        process = Path("/proc") / pid
        rollup = (process / "smaps_rollup").read_text(encoding="ascii")
        memory += int(rollup.split("Pss:")[1].split()[0]) / 1024
        files += len(list((process / "fd").iterdir()))
        below, more = held(int(pid))
        memory, files = memory + below, files + more
    return memory, files
