"""A season of samples as one batch: against single requests, against JSON alone, on two workers.

Rows are the README's request with an EC and an id of their own; all by CPU time of the process.
"""

from __future__ import annotations

import json
import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import count
from typing import Any

import dask
import dask.dataframe as dd
import orjson
import pandas as pd
from distributed import Client, LocalCluster

from benchmarks.endpoints import README
from saltcalc.frames import assess_dask, assess_frame
from saltcalc.service.app import create_app
from saltcalc.service.config import read_settings

ROWS, SINGLES, FOR_DASK, PARTITIONS, IN_PARTITION = 1000, 20, 6000, 24, 5000
BATCH, LINES = "/v1/assessments/batch", {"Content-Type": "application/x-ndjson"}


def _requests() -> Iterator[dict[str, Any]]:
    """Yield requests without end, no two alike."""
    for place in count():
        medium = {"extraction": "one_to_two", "ec": f"{300 + (37 * place) % 4000} µS/cm"}
        yield README | {"medium": medium, "sample_id": f"sample {place}"}


def _least_cpu(work: Callable[[], object], times: int = 3) -> float:
    """Return the least CPU time of some runs [s]."""
    taken = []
    for _ in range(times):
        began = time.process_time()
        work()
        taken.append(time.process_time() - began)
    return min(taken)


def main(for_dask: int = FOR_DASK) -> None:
    """Print rows a second, and the ratios; on so many rows those of Dask."""
    client = create_app(read_settings({"SALTCALC_LOG_LEVEL": "CRITICAL"})).test_client()
    asked = _requests()
    rows = [next(asked) for _ in range(ROWS)]
    body = "\n".join(json.dumps(row) for row in rows).encode()

    def batch() -> bytes:
        return client.post(BATCH, data=body, headers=LINES).data

    def singles() -> None:
        for _ in range(SINGLES):
            client.post("/v1/assessments?parts=summary", json=next(asked))

    answers = batch()
    singles()
    of_row, of_single = _least_cpu(batch) / ROWS, _least_cpu(singles) / SINGLES

    def floor() -> None:
        for lines in (body, answers):
            for line in lines.splitlines():
                orjson.dumps(orjson.loads(line))

    of_floor = _least_cpu(floor) / ROWS
    print(f"  a batch:         {1 / of_row:6.0f} rows a second of one core (aim 3000)")
    print(
        f"  single requests: {1 / of_single:6.0f} a second; ratio {of_single / of_row:.1f} (aim 40)"
    )
    print(f"  JSON of the same lines alone, by orjson: {of_floor / of_row:.2%} of the time")
    _on_workers(for_dask)


def _on_workers(rows: int) -> None:
    """Print how much faster two processes of Dask are than one, and what a worker holds at most.

    From a folder of Parquet to another, as a season would be; wall time, so that it tells nothing
    beside other load.
    """
    samples = pd.DataFrame(
        {
            "ec [mS/cm]": [0.3 + 0.037 * (place % 108) for place in range(rows)],
            "method": "1:2",
            "volume [L]": 11.4,
            "height [cm]": 22.9,
            "crop": "lettuce",
        }
    )
    taken, most = {}, {}
    with (
        tempfile.TemporaryDirectory() as folder,
        dask.config.set({"dataframe.convert-string": False}),
    ):
        parts = max(PARTITIONS, rows // IN_PARTITION)
        dd.from_pandas(samples, npartitions=parts).to_parquet(f"{folder}/in")
        for workers in (1, 2):
            with (
                LocalCluster(
                    n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None
                ) as cluster,
                Client(cluster) as client,
            ):
                client.run(_warm)
                began = time.perf_counter()
                assess_dask(dd.read_parquet(f"{folder}/in")).to_parquet(f"{folder}/{workers}")
                taken[workers] = time.perf_counter() - began
                most[workers] = max(client.run(_held).values())
            assert len(pd.read_parquet(f"{folder}/{workers}", columns=["verdict"])) == rows
    print(
        f"  Dask, on {rows} rows: {taken[1]:.0f} s by one worker, {taken[2]:.0f} s by two, "
        f"{taken[1] / taken[2]:.2f} times as fast (aim 1.6); a worker held at most "
        f"{most[1]:.0f} MB, of two {most[2]:.0f} MB"
    )


def _held() -> float:
    """Return the most memory that this process held [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def _warm() -> None:
    assess_frame(pd.DataFrame({"ec [mS/cm]": [1.0]}))


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
