"""Work in forked processes against the same work in this one."""

import os

import pytest

from darkspell.core.errors import StudyError
from darkspell.core.processes import in_processes


def test_results_come_in_the_order_of_the_items():
    base = 10  # a closure cannot be pickled, so this also shows that it is inherited
    alone = list(in_processes(lambda item: item + base, range(5), workers=1))
    assert alone == [10, 11, 12, 13, 14]
    assert list(in_processes(lambda item: item + base, range(5), workers=2)) == alone
    assert os.getpid() not in list(in_processes(lambda item: os.getpid(), range(3), workers=2))


@pytest.mark.parametrize("workers", [1, 2])
def test_a_fault_reaches_the_caller(workers):
    def refuse(item):
        raise StudyError(f"roof: {item} is no tilt")

    with pytest.raises(StudyError, match="roof: 0 is no tilt"):
        list(in_processes(refuse, range(2), workers))
