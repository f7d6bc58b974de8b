"""The study as one frozen object, with every default filled."""

from typing import Annotated, Any

from pydantic import Field, PrivateAttr, field_validator

from darkspell.core.constants import constant
from darkspell.study.ageing import Ageing
from darkspell.study.arrays import Array, Controller
from darkspell.study.bank import Bank, System
from darkspell.study.bank_checks import check_bank, check_charging
from darkspell.study.base import Faults, Name, Section, key
from darkspell.study.chargers import Charger
from darkspell.study.climate import Climate
from darkspell.study.dates import shared_days
from darkspell.study.document import Document
from darkspell.study.energy_forms import with_amps
from darkspell.study.generator import Generator
from darkspell.study.itinerary import Stop
from darkspell.study.load_tiers import check_tiers
from darkspell.study.loads import Critical, Deferrable, Inverter, Load, MeasuredLoad
from darkspell.study.log_format import Log
from darkspell.study.monitor_defaults import with_settings
from darkspell.study.monitors import Monitor, Shunt
from darkspell.study.occupancy import Occupancy
from darkspell.study.sensitivity import Sensitivity
from darkspell.study.site import Site
from darkspell.study.targets import Engine, Sizing, Target

Changes = Annotated[dict[str, Any], Field(min_length=1)]


class Study(Section):
    """One place, one client, one file.

    Attributes are the keys of the file, nested (``study.bank.capacity_ah``); mappings are dictionaries
    by name (``study.loads["fridge"].watts``). Build one with `darkspell.study.load_study` or
    `darkspell.study.study_from`.
    """

    document: Document = key("Who asks and who answers.")
    site: Site = key("Location of the system.")
    climate: Climate = key("Where the climate data come from.")
    itinerary: dict[Name, Stop] = key(
        "Places of a moving home by name; all other days are spent at the site.",
        default={},
        max_length=60,
        note="none",
    )
    system: System = key("Properties of the whole system.")
    arrays: dict[Name, Array] = key("Groups of modules by name.", min_length=1, max_length=20)
    controller: Controller = key("The charge controller.")
    chargers: dict[Name, Charger] = key(
        "Chargers other than the arrays, by name.", default={}, max_length=20, note="none"
    )
    bank: Bank = key("The battery bank.")
    generator: Generator | None = key(
        "A generator that the bank's state of charge starts and stops.", default=None, note="none"
    )
    loads: dict[Name, Load] = key("Appliances by name.", min_length=1, max_length=200)
    measured_loads: dict[Name, MeasuredLoad] = key(
        "Loads known from measured hours, by name.", default={}, max_length=20, note="none"
    )
    inverter: Inverter | None = key("The inverter of the ac loads; needed if there are any.", default=None)
    occupancy: Occupancy = key("When people are there, and how they use energy.", default=Occupancy())
    deferrable: Deferrable = key("When deferrable loads are shed.", default=Deferrable())
    critical: Critical = key("When essential loads are shed to spare critical ones.", default=Critical())
    load_uncertainty_pct: float = key(
        "Uncertainty of the whole energy budget: one standard deviation.", "%", 10, low=0, high=100
    )
    log: Log = key("How to read a log of the system, for `darkspell compare`.", default=Log())
    monitors: dict[Name, Monitor] = key(
        "Monitors by name; the first shunt is the one that the owner reads.",
        default={"shunt": Shunt(kind="shunt")},
        max_length=20,
        note="one shunt with its defaults",
    )
    target: Target = key("What the design has to reach.")
    sizing: Sizing = key("The designs to compare.")
    whatifs: dict[Name, Changes] = key(
        "Named sets of changes, each a mapping from dotted key to value; null removes an entry.",
        default={},
        max_length=500,
        note="none",
    )
    sweeps: dict[Name, Changes] = key(
        "Lists of what-ifs: each maps a dotted key to values, or to {from, to, steps}; two keys with numbers give "
        "a map.",
        default={},
        max_length=50,
        note="none",
    )
    sensitivity: Sensitivity | None = key("Which inputs move the answer, and how much.", default=None)
    short_night_floor_wh: float = key(
        "Essential energy missing in one hour above which the night counts as short.",
        "Wh",
        5,
        low=0,
        high=100_000,
    )
    ageing: Ageing | None = key(
        "The study at commissioning, in mid-life and at the end of its bank's life.",
        default=None,
        note="not asked",
    )
    engine: Engine = key("How many years to draw.", default=Engine())

    _name: str = PrivateAttr("study")
    _folder: Any = PrivateAttr(None)
    _files: tuple = PrivateAttr(())
    _given: dict = PrivateAttr(default_factory=dict)
    _choices: dict = PrivateAttr(default_factory=dict)

    @property
    def name(self):
        """Name of the study: its file's, without the ending."""
        return self._name

    @property
    def folder(self):
        """Folder of the study file (`pathlib.Path`), to which its paths are relative."""
        return self._folder

    @property
    def files(self):
        """Files that the study was read from: its own, then those that it extends (tuple of `pathlib.Path`)."""
        return self._files

    @property
    def choices(self):
        """What the study took of each list of its file's ``cross``: dict of `darkspell.study.study_files.Choice`."""
        return self._choices

    @property
    def array_wp(self):
        """Power of all arrays together [Wp]."""
        return sum(array.power_wp for array in self.arrays.values())

    @property
    def self_consumption_w(self):
        """What goes on drawing after cut-off, the controllers' own draw included [W]."""
        owns = (array.own_controller for array in self.arrays.values())
        return self.bank.self_consumption_w + sum(
            one.self_consumption_w for one in (self.controller, *owns) if one
        )

    @property
    def inverter_cutoff_v(self):
        """Voltage at which the inverter drops its loads [V]; None where nothing hangs on it, or it has none."""
        rows = [*self.loads.values(), *self.measured_loads.values()]
        used = self.inverter is not None and any(row.supply == "ac" for row in rows)
        return self.inverter.cutoff_voltage_v if used else None

    @property
    def has_critical(self):
        """Whether any load is of tier critical."""
        rows = [*self.loads.values(), *self.measured_loads.values()]
        return any(row.tier == "critical" for row in rows)

    @property
    def absorption_v(self):
        """Charging voltage that the chargers hold at the bank at 25 degC [V]."""
        given = self.controller.absorption_voltage_v
        return (
            constant("bank", self.bank.chemistry, "absorption_v_cell") * self.cells
            if given is None
            else given
        )

    @property
    def float_v(self):
        """Voltage to which the chargers fall back after the absorption time [V]."""
        given = self.controller.float_voltage_v
        usual = min(constant("bank", self.bank.chemistry, "float_v_cell") * self.cells, self.absorption_v)
        return usual if given is None else given

    @property
    def replays(self):
        """Whether measured years are run as recorded; never with an itinerary, which has several places."""
        return self.climate.replays and not self.itinerary

    @property
    def cells(self):
        """Cells in series in the bank."""
        return _cells(self.bank.chemistry, self.system.nominal_voltage_v)

    @property
    def monitor(self):
        """Name of the first shunt: the monitor that the owner reads."""
        return next(name for name, monitor in self.monitors.items() if monitor.kind == "shunt")

    @property
    def disconnects(self):
        """Names of the monitors on whose reading a cut-out hangs, in their order."""
        return [name for name, one in self.monitors.items() if one.disconnect]

    def with_changes(self, changes):
        """The study with some keys changed, see `darkspell.study.whatif_changes.with_changes`.

        Parameters
        ----------
        changes : dict
            New values by dotted key.

        Returns
        -------
        Study
        """
        from darkspell.study.whatif_changes import with_changes

        return with_changes(self, changes)

    def resolved(self):
        """The study as plain dictionaries, lists, numbers and texts, every default filled."""
        return self.model_dump(mode="json")

    def subtree_hash(self, *sections):
        """Short hash of some sections, see `darkspell.study.whatif_changes.subtree_hash`.

        Parameters
        ----------
        *sections : str

        Returns
        -------
        str
        """
        from darkspell.study.whatif_changes import subtree_hash

        return subtree_hash(self, *sections)

    @field_validator("loads", mode="before")
    @classmethod
    def _amps(cls, loads, info):
        system = info.data.get("system")
        return with_amps(loads, system.nominal_voltage_v if system else 12)

    @field_validator("itinerary")
    @classmethod
    def _one_place_at_a_time(cls, stops):
        for one, other in shared_days(stops):
            text = f"shares days with {one} ({stops[one].first} to {stops[one].last}); part the dates"
            raise Faults((other, text))
        return stops

    @field_validator("inverter")
    @classmethod
    def _for_ac(cls, inverter, info):
        rows = {**info.data.get("loads", {}), **info.data.get("measured_loads", {})}
        names = [name for name, row in rows.items() if row.supply == "ac"]
        if names and inverter is None:
            raise ValueError(f"is missing; {', '.join(names)} run on ac: add inverter.power_w, or supply: dc")
        off_at, system = inverter and inverter.cutoff_voltage_v, info.data.get("system")
        if off_at is not None and system is not None:
            _check_inverter_cutoff(off_at, system.nominal_voltage_v, {n: rows[n].tier for n in names})
        return inverter

    @field_validator("critical")
    @classmethod
    def _between_the_others(cls, critical, info):
        parts = [info.data.get(name) for name in ("loads", "measured_loads", "deferrable", "bank")]
        if None not in parts:
            check_tiers(critical, {**parts[0], **parts[1]}, *parts[2:])
        return critical

    @field_validator("measured_loads")
    @classmethod
    def _other_names(cls, measured, info):
        for name in measured:
            if name in info.data.get("loads", {}):
                raise Faults((name, "is the name of a load too; rename one of the two"))
        return measured

    @field_validator("controller")
    @classmethod
    def _pwm_strings(cls, controller, info):
        arrays, system = info.data.get("arrays"), info.data.get("system")
        _check_controllers(arrays or {}, controller)
        if arrays and system:
            joined = {
                n: a
                for n, a in arrays.items()
                if "pwm" in (controller.kind, a.own_controller and a.own_controller.kind)
            }
            _check_pwm(joined, system.nominal_voltage_v)
        return controller

    @field_validator("bank")
    @classmethod
    def _cutoff(cls, bank, info):
        system = info.data.get("system")
        if system is None:
            return bank
        nominal, cells = system.nominal_voltage_v, _cells(bank.chemistry, system.nominal_voltage_v)
        if bank.cutoff_voltage_v is None:
            default = constant("bank", bank.chemistry, "cutoff_v_cell") * cells
            bank = bank.model_copy(update={"cutoff_voltage_v": round(default, 3)})
        check_bank(bank, nominal)
        if info.data.get("controller") is not None:
            check_charging(info.data["controller"], bank, cells)
        if not 0.75 * nominal <= bank.cutoff_voltage_v <= 1.1 * nominal:
            allowed = f"give {0.75 * nominal:g} to {1.1 * nominal:g} V, or leave it out"
            text = f"{bank.cutoff_voltage_v:g} V does not go with a {nominal} V bank; {allowed}"
            raise Faults(("cutoff_voltage_v", text))
        return bank

    @field_validator("monitors")
    @classmethod
    def _settings(cls, monitors, info):
        if not any(monitor.kind == "shunt" for monitor in monitors.values()):
            raise ValueError("has no shunt; name at least one monitor with kind: shunt")
        bank, system, controller = (info.data.get(name) for name in ("bank", "system", "controller"))
        if None in (bank, system, controller):
            return monitors
        nominal = system.nominal_voltage_v
        return {
            name: with_settings(one, bank, nominal, controller.absorption_voltage_v)
            for name, one in monitors.items()
        }


def _cells(chemistry, nominal):
    return round(constant("bank", chemistry, "cells_per_12v") * nominal / 12)


def _check_pwm(arrays, nominal):
    """Strings on a PWM controller must match the bank: too low never charges, too high is wasted."""
    faults = []
    low, high = (round(constant("hand_check", name) * nominal, 1) for name in ("pwm_voc_low", "pwm_voc_high"))
    for name, array in arrays.items():
        series, voc = array.modules_in_series, array.module_voc_v
        if voc is None and series > nominal // 12:
            text = f"{series} modules are too many for PWM on a {nominal} V bank"
            cure = f"{text}; put {nominal // 12} of 36 cells in series, or use kind: mppt"
            faults.append((f".arrays.{name}.modules_in_series", cure))
        elif voc is not None and not low <= voc * series <= high:
            text = f"{series} x {voc:g} V open-circuit does not match a {nominal} V bank through PWM"
            cure = f"{text}; put modules in series for {low:g} to {high:g} V, or use kind: mppt"
            faults.append((f".arrays.{name}.modules_in_series", cure))
    if faults:
        raise Faults(*faults)


def _check_inverter_cutoff(off_at, nominal, tiers):
    """Refuse a cut-off of another bank, and loads that are never switched off behind it."""
    if not 0.75 * nominal <= off_at <= 1.1 * nominal:
        allowed = f"give {0.75 * nominal:g} to {1.1 * nominal:g} V, or leave it out"
        raise Faults(("cutoff_voltage_v", f"{off_at:g} V does not go with a {nominal} V bank; {allowed}"))
    always = [name for name, tier in tiers.items() if tier == "uninterruptible"]
    if always:
        text = f"may switch off {', '.join(always)}, of tier uninterruptible; supply: dc, or tier: essential"
        raise Faults(("cutoff_voltage_v", text))


def _check_controllers(arrays, controller):
    """A start voltage must be one that the string reaches; controllers of one array are tracking ones."""
    faults = []
    for name, array in arrays.items():
        own, where = array.own_controller, f".arrays.{name}"
        start = (own or controller).start_voltage_v
        if own and controller.kind == "pwm":
            text = "needs controller.kind: mppt; give the others their own_controller with kind: pwm"
            faults.append((f"{where}.own_controller", text))
        if start is not None and array.module_voc_v is None:
            text = f"is missing; a start voltage ({start:g} V) is held against it"
            faults.append((f"{where}.module_voc_v", text))
        elif start is not None and start >= array.module_voc_v * array.modules_in_series:
            volts = array.module_voc_v * array.modules_in_series
            text = f"{array.modules_in_series} x {array.module_voc_v:g} V = {volts:g} V never wakes a "
            text += f"controller that starts at {start:g} V; put more in series"
            faults.append((f"{where}.modules_in_series", text))
    if faults:
        raise Faults(*faults)
