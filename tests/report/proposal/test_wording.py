import pytest

from darkspell.report import wording as say


@pytest.mark.parametrize(
    "share, words",
    [
        (0.0, "no winter"),
        (1 / 9, "one winter in nine"),
        (0.115, "one winter in nine"),
        (0.069, "one winter in 14"),
        (0.0034, "one winter in 290"),
        (0.25, "one winter in four"),
        (0.34, "three winters in ten"),
        (0.5, "five winters in ten"),
        (0.94, "nine winters in ten"),
        (0.975, "all but one winter in 40"),
        (0.9999999, "nearly every winter"),
        (1e-6, "fewer than one winter in a thousand"),
        (1.0, "every winter"),
    ],
)
def test_a_share_becomes_a_frequency(share, words):
    assert say.frequency(share, "winter") == words


def test_a_frequency_is_within_a_fifth_of_its_share():
    """What the words say, read back as a number, is what the share was."""
    for k in range(1, 280):
        words = say.frequency(k / 1000)
        told = words.rsplit(" ", 1)[1]
        n = say.WORDS.index(told) if told in say.WORDS else int(told)
        assert 1 / n == pytest.approx(k / 1000, rel=0.15)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_no_share_beyond_its_range(share):
    with pytest.raises(ValueError, match="between 0 and 1"):
        say.frequency(share)


@pytest.mark.parametrize(
    "share, words",
    [
        (0, "0 %"),
        (1, "100 %"),
        (0.115, "12 %"),
        (0.0034, "0.34 %"),
        (0.995, "99.5 %"),
        (0.99999, "over 99.9 %"),
    ],
)
def test_per_cent_keep_two_digits(share, words):
    assert say.percent(share) == words


def test_counts_and_ranges():
    assert say.whole_range(1, 1, "{count} night", "{count} nights") == "one night"
    assert say.whole_range(2, 5, "{count} night", "{count} nights") == "two to five nights"
    assert say.whole_range(9, 31, "{count} night", "{count} nights") == "nine to 31 nights"
    assert say.count_of(0, "{count} day", "{count} days") == "0 days"


@pytest.mark.parametrize(
    "low, high, words",
    [
        (0.28, 1.38, "0.3 to 1.4"),
        (0.0038, 0.31, "0.004 to 0.31"),
        (880.0, 1070.0, "880 to 1070"),
        (float("nan"), 1.0, "not known"),
        (0.0, 0.0, "0"),
    ],
)
def test_bounds_carry_two_digits_or_what_their_distance_supports(low, high, words):
    assert say.between(low, high) == words


def test_text_that_runs_from_right_to_left_is_isolated():
    assert say.given("בקתה") == "\u2068בקתה\u2069"
    assert say.given("hut") == "hut"


def test_direction_overrides_and_control_letters_go():
    assert say.given("a\u202eb\u2066c\x00d\x1b[31m\ne") == "abcd[31m e"
