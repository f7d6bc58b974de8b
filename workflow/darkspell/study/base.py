"""What all sections of a study file share: closed, frozen, strict, and every key with unit and meaning."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, model_validator

NAME_PATTERN = r"^[A-Za-z0-9_][A-Za-z0-9_-]*$"
Name = Annotated[str, StringConstraints(pattern=NAME_PATTERN, max_length=40)]


class Section(BaseModel):
    """Base of all sections: unknown keys are refused, values are not guessed at, nothing changes later.

    Defaults are validated too, so that a default taken from another key passes the same checks.
    """

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, allow_inf_nan=False, validate_default=True
    )

    @model_validator(mode="before")
    @classmethod
    def _null_is_the_default(cls, given):
        """A key that says null, or nothing, counts as left out."""
        if not isinstance(given, dict):
            return given
        return {
            name: value for name, value in given.items() if value is not None or name not in cls.model_fields
        }


class Faults(ValueError):
    """Several faults found by one check.

    Parameters
    ----------
    *pairs : tuple of (str, str)
        Key below the place where the check runs ("" for the place itself) and a sentence with the cure.
    """

    def __init__(self, *pairs):
        self.pairs = pairs
        super().__init__("; ".join(f"{key}: {text}" if key else text for key, text in pairs))


def key(meaning, unit="", default=..., *, low=None, high=None, above=None, factory=None, note="", **more):
    """One key of the study file.

    Parameters
    ----------
    meaning : str
        What the key says, in words for the owner of a study; also printed as the cure of a fault.
    unit : str
        Unit of the value; "" for names, counts and texts.
    default : object
        Value taken when the key is absent; required without one.
    low, high, above : float
        Inclusive lower and upper bound, exclusive lower bound.
    factory : callable
        Default from the keys of the section before this one (a mapping), in place of `default`.
    note : str
        The default in words, where it depends on other keys.
    """
    given = {"default_factory": factory} if factory else {"default": default}
    extra = {"unit": unit, "default_note": note}
    return Field(**given, description=meaning, ge=low, le=high, gt=above, json_schema_extra=extra, **more)
