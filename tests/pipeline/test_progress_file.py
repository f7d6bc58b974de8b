import io

import pytest

from darkspell.pipeline.progress_file import Teller, progress_text, read_share


def test_the_share_stands_beside_the_log_while_the_job_runs(tmp_path):
    log = tmp_path / "members.txt"
    clock = iter([0.0, 1.0, 6.0, 7.0, 16.5]).__next__
    stream = io.StringIO()
    tell = Teller(log, "hut: members", clock, stream)
    assert read_share(log) is None
    for share in (0.1, 0.25, 0.3, 0.75):
        tell(share)
    assert read_share(log) == 0.75
    assert stream.getvalue().splitlines() == [
        "hut: members: 25 %, about 18 s left",
        "hut: members: 75 %, about 6 s left",
    ]
    tell.close()
    assert read_share(log) is None


@pytest.mark.parametrize(
    "share, elapsed, text",
    [
        (0.0, 3.0, "under way"),
        (0.5, 600.0, "50 %, about 10 min left"),
        (0.1, 3600.0, "10 %, about 9.0 h left"),
        (0.999, 10.0, "100 %, about 1 s left"),
    ],
)
def test_time_left_in_words(share, elapsed, text):
    assert progress_text(share, elapsed) == text
