"""What an array gives by its label and its age, and when its controller wakes; plain numbers."""

from math import exp

import numpy as np

from darkspell.core.constants import constant


def rated_power(array):
    """Power of an array at standard test conditions after losses that no weather changes.

    Parameters
    ----------
    array : darkspell.study.arrays.Array

    Returns
    -------
    float
        [W].
    """
    aged = max(1.0 - array.age_years * array.ageing_pct_year / 100.0, 0.0)
    return array.power_wp * (1.0 - array.loss_pct / 100.0) * (1.0 - array.mismatch_pct / 100.0) * aged


def start_irradiance(array, start_voltage):
    """Irradiance at which a string's open-circuit voltage at 25 degC reaches a voltage.

    ``Voc(G) = Voc + n Vt cells ln(G / 1000)``, the single-diode model with a negligible shunt (IEC 60891 has the same
    term).

    Parameters
    ----------
    array : darkspell.study.arrays.Array
    start_voltage : float or None
        [V].

    Returns
    -------
    float
        [W/m2]; 0 without a start voltage.
    """
    if start_voltage is None or array.module_voc_v is None:
        return 0.0
    volts = array.module_voc_v * array.modules_in_series
    cells = volts / constant("pv", "cell_voc")
    slope = cells * constant("pv", "ideality") * constant("pv", "thermal_voltage")
    return constant("pv", "reference_irradiance") * exp(min((start_voltage - volts) / slope, 10.0))


def charging_voltage(study):
    """Bank voltage in the middle of a charge: the mean of the rested voltage at half charge and of absorption.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float
        [V].
    """
    return 0.5 * (rested_voltage(study) + study.absorption_v)


def rested_voltage(study):
    """Open-circuit voltage of the bank at half charge.

    Parameters
    ----------
    study : darkspell.study.Study

    Returns
    -------
    float
        [V].
    """
    name = study.bank.chemistry
    half = np.interp(0.5, constant("bank", name, "ocv_soc"), constant("bank", name, "ocv_v_cell"))
    return float(half) * study.cells
