"""Data frames of samples: of pandas, of Arrow, and of Dask on a cluster of real processes."""

import os
import signal
import threading
import time

import dask.dataframe as dd
import pandas as pd
import pyarrow as pa
import pytest
from distributed import Client, LocalCluster
from werkzeug.exceptions import HTTPException

from saltcalc.frames import assess_dask, assess_frame

# What these libraries warn of themselves is no matter of ours.
pytestmark = pytest.mark.filterwarnings("ignore")


def season(rows):
    numbers = range(rows)
    return pd.DataFrame(
        {
            "sample_id": [f"s{each}" for each in numbers],
            "ec [mS/cm]": [1.3 + 0.01 * (7 * each % 300) for each in numbers],
            "method": "1:2",
            "volume [L]": [None if each % 3 else 40.0 for each in numbers],
            "Na [mg/L]": [None if each % 5 else "<0.5" for each in numbers],
            "crop": ["French bean", "beetroot"] * (rows // 2),
        },
        index=[f"i{each}" for each in numbers],
    )


def test_figures_come_in_us_units():
    frame = pd.DataFrame(
        {"ec [mS/cm]": [2.0], "method": "1:2", "volume [gal]": [10], "crop": "bean"}
    )
    (litres,) = assess_frame(frame)["water_per_container [L]"]
    (gallons,) = assess_frame(frame, units="us")["water_per_container [gal]"]
    assert gallons == pytest.approx(litres / 3.7854, rel=1e-3)


def test_a_frame_is_answered_row_by_row():
    frame = season(6).assign(ph=[6.5, None, "acid", 6, 6, 6])
    found = assess_frame(frame)
    assert list(found.index) == list(frame.index)
    assert list(found["sample_id"]) == list(frame["sample_id"])
    assert found["problem"].isna().tolist() == [True, True, False, True, True, True]
    assert "ph" in found["problem"].iloc[2]
    assert found["water_per_container [L]"].iloc[0] > 0
    assert pd.isna(found["water_per_container [L]"].iloc[1])


def test_arrow_gives_what_pandas_gives():
    frame = season(6)
    found = assess_frame(pa.Table.from_pandas(frame, preserve_index=False))
    assert isinstance(found, pa.Table)
    same = assess_frame(frame).reset_index(drop=True)
    pd.testing.assert_frame_equal(found.to_pandas().astype(same.dtypes), same)


def test_an_unknown_heading_is_told():
    with pytest.raises(HTTPException, match="colour"):
        assess_frame(pd.DataFrame({"colour": [1]}))


def test_a_cluster_gives_the_same_figures_though_a_worker_is_killed(tmp_path):
    """Parquet in and out over two processes, one of which dies in the midst."""
    frame = season(240)
    dd.from_pandas(frame, npartitions=24).to_parquet(tmp_path / "in")
    with (
        LocalCluster(
            n_workers=2,
            threads_per_worker=1,
            processes=True,
            dashboard_address=None,
            local_directory=tmp_path / "work",
        ) as cluster,
        Client(cluster),
    ):
        killed = []

        def kill_one():
            while len(list((tmp_path / "out").glob("*.parquet"))) < 3:
                time.sleep(0.05)
            killed.append(cluster.workers[0].pid)
            os.kill(killed[0], signal.SIGKILL)

        killer = threading.Thread(target=kill_one, daemon=True)
        killer.start()
        assess_dask(dd.read_parquet(tmp_path / "in")).to_parquet(tmp_path / "out")
        killer.join()
    assert killed
    found = dd.read_parquet(tmp_path / "out").compute()
    wanted = assess_frame(frame)
    assert sorted(found.index) == sorted(wanted.index)
    found = found.loc[list(wanted.index)].astype(wanted.dtypes).set_axis(wanted.index)
    pd.testing.assert_frame_equal(found, wanted)
