"""What the years bring: the design with its bank new, in mid-life and worn."""

from darkspell.core.messages import _
from darkspell.report import wording as say
from darkspell.report.document.images import figure
from darkspell.report.document.localization import money
from darkspell.report.document.tree import Paragraph, Section, Table
from darkspell.report.figures.number_format import number
from darkspell.report.key_words import whatif_name
from darkspell.report.proposal.chapters.target import phrase, scaled
from darkspell.simulation.lifetime import FIRST_YEAR


def section(results):
    """The section on the years to come.

    Parameters
    ----------
    results : darkspell.report.results.Results

    Returns
    -------
    darkspell.report.document.tree.Section
    """
    costs = list(_costs(results))
    if not len(results.table("ageing")):
        years = results.study.sizing.life_cycle.horizon_years
        return Section(_("What the system costs over {years:g} years").format(years=years), costs)
    table = results.table("ageing").set_index("stage")
    end = table.loc["end of life"]
    years = _span(end)
    if "target missed" not in table.index:
        heading = _("Even worn, after about {years:.0f} years, the bank still meets the target").format(
            years=end["years"]
        )
    elif table.loc["target missed", "years"] == 0.0:
        heading = _("The target is missed from the beginning")
        if table.loc["commissioning", "value"] <= table.loc["target missed", "value"]:
            heading = _("Whether the target is met with a new bank is not sure enough")
    else:
        missed = table.loc["target missed"]
        heading = _("In about year {years:.0f} the target stops being met").format(years=missed["years"])
    text = _(
        "This bank is taken as worn out at {capacity_pct:g} % of its rated capacity. From the "
        "cycles, temperatures and times below full of the synthetic years this happens after "
        "{years} in 8 banks of 10. It is a rough figure, from rated cycle and calendar lives of the kind of "
        "bank, not "
        "of a product. {members} of these years were run again with the bank in mid-life and worn."
    ).format(
        capacity_pct=end["capacity_pct"],
        years=years,
        members=min(results.study.ageing.members, results.years),
    )
    if "target missed" in table.index and table.loc["target missed", "years"] > 0.0:
        missed = table.loc["target missed"]
        text += " " + _(
            "The target stops being met at {capacity_pct:.0f} % of the capacity, after {range}: "
            "look at the bank again by then."
        ).format(capacity_pct=missed["capacity_pct"], range=_span(missed))
    blocks = [Paragraph(text), *_first_year(results, table)]
    return Section(heading, [*blocks, *figure(results, "ageing"), _table(results, table), *costs])


def there(results):
    """Whether the study has something to say of the years to come.

    Parameters
    ----------
    results : darkspell.report.results.Results
    """
    return len(results.table("ageing")) > 0 or len(results.table("costs")) > 0


def _costs(results):
    """First cost and cost over life of the study and its what-ifs; nothing without costs.csv."""
    table, study = results.table("costs"), results.study
    if not len(table):
        return
    terms, currency, own = study.sizing.life_cycle, study.document.currency, table.iloc[0]
    low, high = (money(own[f"yearly_cost_{bound}"], currency) for bound in ("low", "high"))
    yield Paragraph(
        _(
            "The first cost is {price}. Over {horizon_years:g} years at a real discount rate of "
            "{discount_rate_pct:g} % the system costs {price_2} a year ({low} to {high} for 8 banks "
            "of 10). A new bank lasts about {bank_life_years:.0f} years in this service. Prices are "
            "those of today. The bank's life is that of its kind, not of a product."
        ).format(
            price=money(own["first_cost"], currency),
            horizon_years=terms.horizon_years,
            discount_rate_pct=terms.discount_rate_pct,
            price_2=money(own["yearly_cost"], currency),
            low=low,
            high=high,
            bank_life_years=own["bank_life_years"],
        )
    )
    shown = {
        _("First cost"): "first_cost", _("Bank lasts, years"): "bank_life_years",
        _("Banks bought later"): "replacements", _("Cost over life"): "life_cycle_cost",
        _("Cost a year"): "yearly_cost",
    }  # fmt: skip
    digits = {"bank_life_years": 1, "replacements": 1}
    rows = [
        [_("As studied") if row["kind"] == "study" else say.given(whatif_name(results.study, row["whatif"])),
         *(_cell(row[key], digits.get(key, 0)) for key in shown.values())]
        for _index, row in table.iterrows()
    ]  # fmt: skip
    note = _(
        "Cost over life: present value of first cost, replacements less residual value, fuel and visits. Names are "
        "those of the changes tried."
    )
    unpriced = (
        _("The price list has no price for a bank of the other chemistry.")
        if table["first_cost"].isna().any()
        else ""
    )
    yield Table(
        caption=_("First cost and cost over {horizon_years:g} years, {currency}").format(
            horizon_years=terms.horizon_years, currency=say.given(currency)
        ),
        header=[_("Design"), *shown],
        rows=rows,
        align="l" + "r" * len(shown),
        note=say.joined([note, unpriced]),
    )


def _cell(value, digits):
    return number(value, digits) if value == value else _("no price")


def _first_year(results, table):
    """What the first year takes, and what that does within the year; none in tables that lack it."""
    if FIRST_YEAR not in table.index:
        return
    new, worn, statistic = table.loc["commissioning"], table.loc[FIRST_YEAR], results.study.target.statistic
    before, after = (number(scaled(statistic, row["value"])[0], 2) for row in (new, worn))
    text = _("Its first year takes {value} % of the rated capacity (95 % at this site: {interval})").format(
        value=say.rounded(new["loss_pct"], new["loss_low"], new["loss_high"]),
        interval=say.between(new["loss_low"], new["loss_high"]),
    )
    if new["loss_partial_pct"] > 0:
        text += _(", {loss_partial_pct} of it because the bank waits too long for a full charge").format(
            loss_partial_pct=number(new["loss_partial_pct"], 2)
        )
    yield Paragraph(
        _(
            "{text}. The other figures of this report take each year with the capacity that it "
            "begins with; with the bank wearing from hour to hour the first year has {after} "
            "{phrase} in place of {before}. How much time below full costs is our assumption."
        ).format(text=text, after=after, phrase=phrase(statistic), before=before)
    )


def _span(row):
    if row["years"] == 0.0:
        return "now"
    return _("{years_low:.0f} to {years_high:.0f} years").format(
        years_low=row["years_low"], years_high=row["years_high"]
    )


def _table(results, table):
    statistic = results.study.target.statistic
    rows = []
    for stage in ("commissioning", "mid-life", "end of life"):
        row = table.loc[stage]
        value, low, high = scaled(statistic, row["value"], row["low"], row["high"])
        met = "yes" if row["meets_target"] else "no"
        (limit,) = scaled(statistic, results.study.target.at_most)
        about = say.rounded(value, low, high, limit), say.between(low, high)
        rows.append([stage, f"{row['capacity_pct']:g} %", _span(row), *about, met])
    return Table(
        caption=_("The design as its bank wears"),
        header=[
            _("Bank"),
            _("Capacity"),
            _("After"),
            phrase(statistic),
            _("95 % at this site"),
            _("Target met"),
        ],
        rows=rows,
        align="lrrrrl",
        note=_("Years: 8 of 10 banks of the kind. Target met: with the chance that the study asks for."),
    )
