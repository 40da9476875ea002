// Temperatures as the log keeps them: tenths of a degree Celsius.

/**
 * 32 °F is 0 °C, and 9 °F are 5 °C (the scales' definition). Rounded to a tenth as core/entry/shapes does.
 * @param {number} value with at most one decimal @param {string} unit "°C" or "°F"
 */
export function celsiusTenths(value, unit) {
  const tenths = Math.round(value * 10);
  if (unit !== '°F') return tenths;
  return Math.trunc(((tenths - 320) * 5 + (tenths >= 320 ? 4 : -4)) / 9);
}
