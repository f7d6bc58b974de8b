// Moves about in the grid of designs that the page carries; asks nobody for anything.
(() => {
  const root = document.getElementById("panel");
  const data = JSON.parse(document.getElementById("panel-data").textContent);
  const [array, bank] = ["array", "bank"].map((name) => document.getElementById(`panel-${name}`));
  const digits = (value, most) =>
    value.toLocaleString(data.numbers, { maximumSignificantDigits: most, useGrouping: false });
  const whole = (value) => Math.round(value).toLocaleString("en").replaceAll(",", "\u202f");
  const show = (name, text) => { document.getElementById(`panel-${name}`).textContent = text; };
  const range = (low, high, most, unit) => {
    const [from, to] = [digits(low, most), digits(high, most)];
    return from === to ? `${from} ${unit}` : `${from} to ${to} ${unit}`;
  };
  // As many decimals as half the interval supports.
  const known = (value, low, high) => {
    const places = high > low ? Math.min(Math.max(Math.ceil(-Math.log10((high - low) / 2)), 0), 4) : 2;
    const written = (one) => one.toLocaleString(data.numbers, { minimumFractionDigits: places, maximumFractionDigits: places });
    return `${written(value)} % of the hours (95 % at this site: ${written(low)} to ${written(high)} %)`;
  };
  const often = (share) => {
    if (share === 0) return `none of ${data.years} years drawn`;
    if (share > 0.95) return `nearly every year (${digits(100 * share, 3)} %)`;
    if (share > 0.28) return `about ${Math.round(10 * share)} years in ten (${digits(100 * share, 2)} %)`;
    return `about one year in ${digits(1 / share, 2)} (${digits(100 * share, 2)} %)`;
  };
  const verdict = (at) => {
    const chance = Math.min(Math.max(Math.round(100 * at("probability_met")), 1), 99);
    return `${at("meets_target") ? "met" : "not met"}; chance that this site meets it: ${chance} %`;
  };
  const update = () => {
    const [i, j] = [Number(array.value), Number(bank.value)];
    const at = (name) => data.columns[name][i * data.bank.length + j];
    const sizes = [`${data.array[i]} Wp`, `${data.bank[j]} Ah`];
    array.setAttribute("aria-valuetext", sizes[0]);
    bank.setAttribute("aria-valuetext", sizes[1]);
    show("array-size", sizes[0]);
    show("bank-size", sizes[1]);
    show("there", known(...["lolp", "lolp_high", "lolp_low"].map((name) => 100 * (1 - at(name)))));
    show("nights", `${digits(at("short_nights"), 2)} a year (95 % at this site: ` +
      `${range(at("short_nights_low"), at("short_nights_high"), 2, "a year")})`);
    show("years", often(at("years_with_short_nights")));
    show("coming", at("short_nights_year_high") === 0 ? "no such night" : range(Math.round(at("short_nights_year_low")), Math.round(at("short_nights_year_high")), 2, "nights"));
    show("days", data.days_per_ah === null ? "not worked out"
      : `about ${digits(data.days_per_ah * data.bank[j], 2)} days, in proportion to the bank`);
    show("cost", `${whole(at("cost"))} ${data.currency}`);
    show("target", verdict(at));
  };
  const go = (place) => { [array.value, bank.value] = place; update(); };
  array.max = data.array.length - 1;
  bank.max = data.bank.length - 1;
  for (const slider of [array, bank]) slider.addEventListener("input", update);
  document.getElementById("panel-own").addEventListener("click", () => go(data.start));
  const cheapest = document.getElementById("panel-cheapest");
  if (data.chosen === null) cheapest.remove();
  else cheapest.addEventListener("click", () => go(data.chosen));
  go(data.start);
  root.hidden = false;
})();
