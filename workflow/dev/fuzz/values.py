"""Values that people, spreadsheets and broken programs write; shared by all mutators."""

HOSTILE_NAMES = (
    "none", "None", "NA", "N/A", "nan", "null", "~", "1", "01", "1e3", "0x1F", "true", "yes", "no", "-inf", "inf",
    "18:30", "2025-03-30", "a" * 400, "", " ", "_", "-", "--help", "../../etc", "a/b", "a\\b", "CON", "a.b", "a b",
    "Kühlschrank", "冰箱", "ثلاجة", "e\u0301", "\u202egnp", "\u200b", "=1+1", "@SUM(A1)", "<b>x</b>",
    "<script>alert(1)</script>", "{{7*7}}", "{0}", "%s", "$HOME", "`id`", "'; drop", "#set page", "$x$", "]]>",
)  # fmt: skip
VALID_NAMES = (
    "none", "NA", "nan", "null", "1", "01", "1e3", "0x1F", "true", "no", "inf", "2025-03-30", "_", "e9", "X",
)  # fmt: skip
EXTREMES = (
    0, -0.0, 1, -1, 0.1, 1e-9, 5e-324, 1e9, 1e308, -1e308, 2**31, 2**63, -(2**63), 10**30, float("nan"),
    float("inf"), -float("inf"), 99.999999999, 100.000001, 1e-300,
)  # fmt: skip
TEXTS = (
    "45", "1,5", "45 W", "12 V", "ten", "\u221210", "1\u00a0000", "1'000", "\u201clfp\u201d", "LFP", "on", "off",
    "south", "18:30", "24:01", "25:00", "12-31", "02-30", "2025-02-29", "\x00", "\ud7ff", "\U0001f600", "x" * 5000,
    "null", "[1, 2]", "{a: 1}", "!!python/object:os.system", "&a", "*a", "%d.%m.%q",
)  # fmt: skip
WRONG_TYPES = (None, True, False, [], {}, [1, 2], {"a": 1}, [[]], [None], {"from": 1, "to": 2, "steps": 3})
FACTORS = (10.0, 0.1, 100.0, 0.01, 1000.0, 0.001, 3.6, -1.0, 2.0, 24.0, 1.0 + 1e-12)


def misspelt(rng, word):
    """A word with one slip of the fingers.

    Parameters
    ----------
    rng : random.Random
    word : str

    Returns
    -------
    str
    """
    word = str(word) or "x"
    at = rng.randrange(len(word))
    return rng.choice(
        (
            word[:at] + word[at + 1 :],
            word[:at] + word[at] + word[at:],
            word[:at] + rng.choice("aeinrst_-. ") + word[at + 1 :],
            word.upper(),
            word.replace("_", "-"),
            word.replace("_", " "),
            word.replace("a", "\u0430"),
            word + "s",
        )
    )


def spoilt_bytes(rng, data):
    """Bytes after one accident of storage or encoding.

    Parameters
    ----------
    rng : random.Random
    data : bytes
        UTF-8 text.

    Returns
    -------
    bytes
    """
    at = rng.randrange(len(data) + 1)
    text = data.decode("utf-8", "replace")
    made = (
        lambda: data[:at],
        lambda: data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :],
        lambda: data[:at] + b"\x00" * rng.randrange(1, 9) + data[at:],
        lambda: data[:at] + data[at : at + 200] * 2 + data[at + 200 :],
        lambda: b"\xef\xbb\xbf" + data,
        lambda: text.encode("utf-16"),
        lambda: text.encode("utf-16-le"),
        lambda: text.encode("latin-1", "replace"),
        lambda: data.replace(b"\n", b"\r\n"),
        lambda: data.replace(b"\n", b"\r"),
        lambda: data.replace(b"  ", b"\t"),
        lambda: data.replace(b": ", b":\xc2\xa0"),
        lambda: data.replace(b'"', "\u201c".encode()),
        lambda: data + b"\n" * 1000,
        lambda: bytes(rng.randrange(256) for _ in range(500)),
        lambda: b"",
    )
    return rng.choice(made)()
