// Moves about in the grid of designs that the page carries; asks nobody for anything.
(() => {
  const root = document.getElementById("panel");
  const data = JSON.parse(document.getElementById("panel-data").textContent);
  const [array, bank] = ["array", "bank"].map((name) => document.getElementById(`panel-${name}`));
  const digits = (value, most) => value > 0 && value < 0.001 ? data.words.small
    : value.toLocaleString(data.numbers, { maximumSignificantDigits: most, useGrouping: false });
  const whole = (value) => Math.round(value).toLocaleString("en").replaceAll(",", "\u202f");
  const show = (name, text) => { document.getElementById(`panel-${name}`).textContent = text; };
  const words = data.words;
  const fill = (text, values) => text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
  const range = (low, high, most) => {
    const [from, to] = [digits(low, most), digits(high, most)];
    return from === to ? from : fill(words.range, { low: from, high: to });
  };
  // As many decimals as half the interval supports.
  const known = (value, low, high) => {
    const places = high > low ? Math.min(Math.max(Math.ceil(-Math.log10((high - low) / 2)), 0), 4) : 2;
    const written = (one) => one.toLocaleString(data.numbers, { minimumFractionDigits: places, maximumFractionDigits: places });
    return fill(words.hours, { value: written(value), low: written(low), high: written(high) });
  };
  const often = (share) => {
    if (share === 0) return words.none;
    if (share > 0.95) return fill(words.nearly, { percent: digits(100 * share, 3) });
    const percent = digits(100 * share, 2);
    if (share > 0.28) return fill(words.in_ten, { count: Math.round(10 * share), percent });
    return fill(words.one_in, { count: digits(1 / share, 2), percent });
  };
  const verdict = (at) => {
    const percent = Math.min(Math.max(Math.round(100 * at("probability_met")), 1), 99);
    return fill(at("meets_target") ? words.met : words.missed, { percent });
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
    show("nights", fill(words.a_year, {
      value: digits(at("short_nights"), 2),
      range: range(at("short_nights_low"), at("short_nights_high"), 2),
    }));
    show("years", often(at("years_with_short_nights")));
    const ends = ["low", "high"].map((end) => Math.round(at(`short_nights_year_${end}`)));
    show("coming", at("short_nights_year_high") === 0 ? words.no_night : fill(words.some_nights, { range: range(...ends, 2) }));
    show("days", data.days_per_ah === null ? words.unknown_days
      : fill(words.some_days, { count: digits(data.days_per_ah * data.bank[j], 2) }));
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
