// Dates in words, and what is chosen of the evenings to come.
import { state } from "./store.js";

/** @param {string} text 2026-12-24 */
const utc = text => new Date(`${text}T00:00:00Z`);

/** @param {Intl.DateTimeFormatOptions} how */
const format = how => new Intl.DateTimeFormat("en-GB", { timeZone: "UTC", ...how });
const SHORT = format({ weekday: "short" }), LONG = format({ weekday: "long" }), MONTH = format({ month: "long" });

/** @param {string} text */
export const weekday = text => SHORT.format(utc(text));
/** @param {string} text */
export const number = text => String(Number(text.slice(8)));
/** @param {string} text */
export const month = text => `${MONTH.format(utc(text))} ${text.slice(0, 4)}`;

/** @param {string} text @param {number} days */
export function later(text, days) {
  const day = utc(text);
  day.setUTCDate(day.getUTCDate() + days);
  return day.toISOString().slice(0, 10);
}

/** How many evenings there are from one to another. @param {string} first @param {string} last */
export const evenings = (first, last) => Math.round((utc(last).getTime() - utc(first).getTime()) / 86_400_000) + 1;

/** As in the desk's sentences: 24 December, 3 to 10 December, 14 May 2028 if that is far. @param {string} first @param {string} last */
export function words(first, last) {
  const far = evenings(state.days?.tonight || first, last) > 301;
  const day = (/** @type {string} */ t) => `${number(t)} ${MONTH.format(utc(t))}${far && (t === last || t.slice(0, 4) !== last.slice(0, 4)) ? ` ${t.slice(0, 4)}` : ""}`;
  if (first === last) return `${LONG.format(utc(first))} ${day(first)}`;
  const begin = first.slice(0, 7) === last.slice(0, 7) ? number(first) : day(first);
  return `${begin} ${evenings(first, last) === 2 ? "and" : "to"} ${day(last)}`;
}

/** The evenings that are chosen, as far as they are on the page. */
export const chosenDays = () => state.days?.days.filter(d => state.first <= d.date && d.date <= state.last) ?? [];

/** What the picture shows: which show, how bright, or dark. */
export function pictured() {
  const t = state.tonight;
  if (state.view === "calendar" && state.first) {
    const day = chosenDays()[0], wish = state.wish;
    const level = typeof wish.level === "number" && wish.what === "brightness" ? wish.level : day?.brightness ?? 1;
    const dark = !state.tried && (wish.what === "dark" || Boolean(day && !day.pieces.length));
    return { file: day?.pieces[0]?.file ?? "", level, dark };
  }
  const level = /** @type {number} */ (state.drafts.get("brightness") ?? t?.brightness ?? 1);
  const evening = state.view !== "compose";
  const file = (t?.pieces.find(p => p.on_now) ?? t?.pieces[0])?.file ?? "";
  return { file, level: evening ? level : 1, dark: evening && Boolean(t?.dark || (t?.file && !t.pieces.length)) && !state.tried };
}
