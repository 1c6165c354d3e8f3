// Made by: python -m lumenmap.desk.wire.types. Don't edit; a test compares.

export type Version = 3;
export type Json = null | boolean | number | string | Json[] | { [key: string]: Json };

/** What was asked is done. */
export interface Accepted {
  type: "accepted";
  id: number;
  file: string;
  /** Of the file, after it. */
  version: number;
}

/** The person at this browser was told what the flash check found and wants to see it. */
export interface AllowFlashing {
  type: "allow_flashing";
  file: string;
  allow: boolean;
}

/** Ask what a wish would do, without doing it. */
export interface AskDays {
  type: "ask_days";
  /** The browser's own number for it. */
  id: number;
  wish: Wish;
}

/** How bright tonight is, 0..1 of the shows' own brightness. */
export interface Brightness {
  type: "brightness";
  /** The browser's own number for it. */
  id: number;
  level: number;
}

/** What a supply, a branch (behind one fuse) or a wire may carry. */
export interface Budget {
  name: string;
  kind: "supply" | "branch" | "wire";
  /** Null if the house has no supply yet: no limit. */
  amps: number | null;
}

/** Ask what these LEDs make of colours, before they are in a file. */
export interface CheckPalette {
  type: "check_palette";
  /** The browser's own number for it. */
  id: number;
  stops: Json[];
  space?: "oklab" | "oklch";
  hue?: "shorter" | "longer" | "increasing" | "decreasing";
  cyclic?: boolean;
  steps?: boolean;
}

/** Tonight's show. */
export interface Choose {
  type: "choose";
  /** The browser's own number for it. */
  id: number;
  file: string;
  until?: string | null;
}

export type ClientMessage = Open | Look | MakeEdits | Undo | Redo | Restore | NewShow | RemoveShow | PutBack | Choose | Brightness | Dark | UndoEvening | LookDays | AskDays | SetDays | SetHours | LightHouse | AllowFlashing | CheckPalette | Invite | FindControllers;

/** A controller that answered. */
export interface Controller {
  address: string;
  name: string;
  /** What --to takes for it: artnet:192.168.1.40. */
  to: string;
}

/** The answer to FindControllers. */
export interface Controllers {
  type: "controllers";
  id: number;
  sentence: string;
  found: Controller[];
}

/** One cue, resolved; its place in the list is that in the file. */
export interface Cue {
  name: string;
  /** s */
  start: number;
  /** s */
  length: number;
  /** s */
  fade_in: number;
  /** s */
  fade_out: number;
  layers: Layer[];
}

/** Nothing plays tonight; or, with false, what the rules say. */
export interface Dark {
  type: "dark";
  /** The browser's own number for it. */
  id: number;
  dark: boolean;
}

/** One evening, as the almanac has it. */
export interface Day {
  date: string;
  /** First Frost from 16:21 to 22:30, half as bright from 21:30. */
  sentence: string;
  pieces: Piece[];
  /** Who put it there: a rule of the almanac, somebody who chose, or nobody. */
  by: "rule" | "hand" | "nobody";
  /** The rule's name, or the reason that somebody gave. */
  why: string;
  /** Somebody chose that it is dark. */
  dark: boolean;
  /** 0..1: the brightest that it gets; 1 if nothing plays. */
  brightness: number;
}

/** Some evenings in a row, to those who look at them. */
export interface Days {
  type: "days";
  tonight: string;
  /** The last date that may be changed from here. */
  farthest: string;
  days: Day[];
  /** What is wrong in the almanac, or that there is none. */
  problem: string;
}

/** The answer to AskDays. */
export interface DaysAnswer {
  type: "days_answer";
  id: number;
  /** What it does, and what holds after that. */
  sentence: string;
  /** What else is to be known. */
  notes: string[];
  /** Whether the quiet hours take some of it away. */
  hushed: boolean;
}

/** All light is turned down from one time to another. */
export interface DimHours {
  /** 21:30, sunset + 2 h */
  start: string;
  /** 21:30, sunset + 2 h */
  stop: string;
  /** 0..1 of the show's own brightness. */
  level: number;
}

/** An edge with pixels, to be chosen on the picture. */
export interface Edge {
  name: string;
  kind: string;
  mass: string | null;
  /** In the house's unit, for people: 12 ft 6 in. */
  length: string;
  pixels: number;
  /** Its points in the picture, as fractions of width and height. */
  outline: [number, number][];
}

/** An effect: its name, what it looks like, its options. */
export interface Effect {
  name: string;
  summary: string;
  source: string;
  options: Option[];
}

/** Tonight, as it stands. */
export interface Evening {
  type: "evening";
  tonight: Tonight;
}

/** The last message on a socket, and why it closes. */
export interface Farewell {
  type: "farewell";
  sentence: string;
}

/** Ask a home network that the person names which controllers it has. */
export interface FindControllers {
  type: "find";
  /** The browser's own number for it. */
  id: number;
  network: string;
}

/** What is to be known of a show; complete once the whole show has been looked at. */
export interface Findings {
  type: "findings";
  file: string;
  version: number;
  complete: boolean;
  /** Don't play it before the person agrees. */
  flashing: Flash[];
  /** Whether the person at this browser did. */
  allowed: boolean;
  hidden: Hidden[];
  /** A, the most of each budget of the house. */
  most_amps: number[];
  /** 1 if nothing is dimmed. */
  lowest_gain: number;
  /** The part of the show that is dimmed, 0..1. */
  dimmed_share: number;
  /** The budget that binds most, in words; empty if none. */
  binding: string;
}

/** A finding of the flash check. */
export interface Flash {
  /** s */
  start: number;
  /** s */
  stop: number;
  sentence: string;
}

/** A layer that nobody can see. */
export interface Hidden {
  path: (string | number)[];
  sentence: string;
}

/** Those of an almanac. */
export interface Hours {
  dims: DimHours[];
  quiet: QuietHours | null;
}

/** The house as the page needs it; the picture itself comes from GET /picture. */
export interface House {
  name: string;
  file: string;
  unit: string;
  pixels: number;
  channels: number;
  /** Address of the picture's data; another when it changes. */
  picture: string;
  edges: Edge[];
  places: Place[];
  lines: Line[];
  /** Supplies first, then branches, then wires. */
  budgets: Budget[];
  /** How many of the budgets are supplies. */
  supplies: number;
  /** 3 x 3, by rows: from the light of the dies to linear sRGB. */
  screen: number[];
  /** 3 x 3, by rows: from linear sRGB to the light of the dies; a colour with a channel below 0 or above 1 is one that these LEDs can't show. */
  matching: number[];
  notes: string[];
  /** Of its wiring: with any of them, nothing is lit. */
  dangers: string[];
}

/** Who sends to the controllers. */
export interface HouseLight {
  type: "house_light";
  light: Light;
}

/** Put an item into a list, where the last number of the path says: cue, 0, layer, 2. */
export interface Insert {
  op: "insert";
  path: (string | number)[];
  new: Json;
}

/** The answer to Invite. */
export interface Invitation {
  type: "invitation";
  id: number;
  rights: "evening" | "compose";
  /** With the token; empty if the desk listens here alone. */
  address: string;
  /** Six digits. */
  code: string;
  /** Rows of 0 and 1, for the address. */
  qr: string[];
  minutes: number;
  sentence: string;
}

/** Ask for an address and a code that pair another device once, within ten minutes. */
export interface Invite {
  type: "invite";
  /** The browser's own number for it. */
  id: number;
  rights: "evening" | "compose";
}

/** One layer, resolved. */
export interface Layer {
  effect: string;
  palette: string;
  on: string[];
  /** Places that it leaves alone. */
  without: string[];
  /** How many pixels it lights. */
  pixels: number;
  blend: string;
  /** Of the effect's options. */
  values: Value[];
  /** Of the keys that every layer has. */
  keys: Value[];
  /** How its places take turns; empty if they don't. */
  turns: Value[];
}

/** Whether the house shows what is under the hand. */
export interface Light {
  state: "off" | "on" | "waiting" | "impossible";
  /** The address of the browser that turned it on. */
  by: string;
  sentence: string;
}

/** Send what is under the hand to the controllers too, until let go or the browser is gone. */
export interface LightHouse {
  type: "light";
  /** The browser's own number for it. */
  id: number;
  on: boolean;
  file?: string | null;
}

/** The pixels of one data line, and the order of its channels on the wire. */
export interface Line {
  name: string;
  first: number;
  count: number;
  order: string;
}

/** Where the playhead is; stretches come from there on. Send it on a jump and once a second. */
export interface Look {
  type: "look";
  file: string;
  frame: number;
  playing: boolean;
}

/** Be told of evenings from now on, whenever they change; null is tonight and those after. */
export interface LookDays {
  type: "look_days";
  first?: string | null;
  count: number;
}

/** Change a file: all of the edits, or none. Those of one gesture are undone together. */
export interface MakeEdits {
  type: "edit";
  /** The browser's own number for it. */
  id: number;
  file: string;
  /** Of the Show (or Document) that the browser saw. */
  version: number;
  edits: (SetValue | Insert | Remove | Move)[];
  /** What undo would take back: Speed of chase. */
  label?: string;
  /** One word for all edits of one drag; empty: alone. */
  gesture?: string;
}

/** Move an item of a list to where to is; its comments go with it. */
export interface Move {
  op: "move";
  path: (string | number)[];
  to: number;
}

/** Make a show file, from nothing or as a copy; Shows then lists it, Accepted names it. */
export interface NewShow {
  type: "new_show";
  /** The browser's own number for it. */
  id: number;
  title: string;
  copy_of?: string | null;
}

/** Look at a show file from now on: answered by Show, Findings and stretches. */
export interface Open {
  type: "open";
  file: string;
}

/** One option of an effect, as a control: its kind, unit and range, from the signature. */
export interface Option {
  name: string;
  /** length, speed, duration, rate, share, angle, count, seed, … */
  kind: string;
  help: string;
  /** The range in words: 0.5 ft/s to 90 ft/s. */
  expected: string;
  /** Written after the number in a file: ft/s; empty if none. */
  unit: string;
  /** In that unit; null where there is no end. */
  low: number | null;
  high: number | null;
  /** In that unit; null for words and where unset. */
  default: number | null;
  /** As a file has it, or what happens if it is left out. */
  default_text: string;
  /** Only whole numbers. */
  whole: boolean;
  /** The words it may have, if it is a word. */
  choices: string[];
  /** Whether it may be a ramp, which changes over time. */
  varies: boolean;
}

/** A palette, of the package or of a show file. */
export interface Palette {
  name: string;
  occasion: string;
  when: string;
  /** Whether it is the show's own. */
  own: boolean;
  stops: Stop[];
  space: string;
  hue: string;
  cyclic: boolean;
  steps: boolean;
  /** 32 colours along it, #rrggbb, for a small picture. */
  strip: string[];
}

/** What these LEDs make of a palette, in numbers and sentences. */
export interface PaletteCheck {
  /** A per pixel, averaged over the palette. */
  amps: number;
  stop_amps: number[];
  /** Colours that can't be shown or are confused. */
  findings: string[];
}

/** The answer to CheckPalette. */
export interface PaletteChecked {
  type: "palette_checked";
  id: number;
  strip: string[];
  check: PaletteCheck;
}

/** A stretch of an evening, in local time. */
export interface Piece {
  /** 16:21 */
  start: string;
  stop: string;
  file: string;
  title: string;
  rule: string;
  brightness: number;
  on_now: boolean;
}

/** A name that a layer can lie on: an edge, a mass, a kind of edge, a group, a line, a route. */
export interface Place {
  name: string;
  what: "edge" | "mass" | "kind" | "group" | "line" | "route";
  /** How many pixels it has. */
  pixels: number;
  /** Its pixels: (first, count) of each run. */
  rows: [number, number][];
}

/** A file that can't be used as it stands; the last good one stays. */
export interface Problem {
  file: string;
  sentence: string;
  line: number | null;
  excerpt: string;
  /** Whether it goes once the file is there without its mistake. */
  mend: boolean;
}

/** All files that can't be used as they stand; the last good ones stay in use. */
export interface Problems {
  type: "problems";
  problems: Problem[];
}

/** Have a show back that was removed since the desk was opened; Accepted names it. */
export interface PutBack {
  type: "put_back";
  /** The browser's own number for it. */
  id: number;
  file: string;
}

/** Nothing plays from one time to another, but what is told to play on. */
export interface QuietHours {
  /** 21:30, sunset + 2 h */
  start: string;
  /** 21:30, sunset + 2 h */
  stop: string;
}

/** A value that changes over time. */
export interface Ramp {
  /** s since the cue's start. */
  at: number[];
  /** The value at each of these, in the option's unit. */
  to: number[];
  /** Values at even steps from the first to the last. */
  course: number[];
}

/** Make again what undo took back. */
export interface Redo {
  type: "redo";
  /** The browser's own number for it. */
  id: number;
  file: string;
}

/** What was asked isn't done; nothing has changed. The sentence goes beside the control. */
export interface Refused {
  type: "refused";
  id: number | null;
  sentence: string;
  file: string;
  path: (string | number)[] | null;
  /** If somebody else changed the same value: */
  yours: Json;
  /** what you sent, and what is there. */
  theirs: Json;
  /** Whether the two may choose which of them counts. */
  conflict: boolean;
}

/** Take an item out of a list. */
export interface Remove {
  op: "remove";
  path: (string | number)[];
  old: Json;
}

/** Take a show off the list; Accepted names the file that it is kept in. */
export interface RemoveShow {
  type: "remove_show";
  /** The browser's own number for it. */
  id: number;
  file: string;
}

/** Have a file as it was when the desk was opened; can be undone. */
export interface Restore {
  type: "restore";
  /** The browser's own number for it. */
  id: number;
  file: string;
}

/** What lumenmap run says of itself; null in Tonight if it never ran here. */
export interface Running {
  alive: boolean;
  sentence: string;
  /** All that lumenmap status prints, for who asks. */
  lines: string[];
  problems: string[];
}

export type ServerMessage = Session | Shows | Evening | Days | DaysAnswer | Show | Findings | Accepted | Refused | Problems | HouseLight | PaletteChecked | Invitation | Controllers | Farewell;

/** The first message on a socket, and again when the house or the effects change. */
export interface Session {
  type: "session";
  /** Of these messages: load the page again if it is another. */
  version: number;
  folder: string;
  rights: "evening" | "compose";
  /** Whether this browser is on the machine of the desk. */
  local: boolean;
  /** Null if there is none that can be read. */
  house: House | null;
  effects: Effect[];
  /** Those of the package. */
  palettes: Palette[];
  blends: string[];
  easings: string[];
  /** Name to description, for options of kind way. */
  ways: { [key: string]: string };
  /** The only show of the page that follows saves; empty here. */
  watch: string;
  /** Keys of the tables layer, turns, cue, show, limit and route, as controls. */
  tables: { [key: string]: Option[] };
  /** Of the house, for the way along one of them. */
  routes: string[];
  /** Home networks that this machine is on. */
  networks: string[];
  /** Places of any house, then its own corners. */
  corners: string[];
}

/** Do it; refused if it would do something else by now than what the person read. */
export interface SetDays {
  type: "set_days";
  /** The browser's own number for it. */
  id: number;
  wish: Wish;
  /** The sentence of DaysAnswer that the person agreed to. */
  agreed: string;
}

/** Have other hours from now on; refused if they aren't any more what the page showed. */
export interface SetHours {
  type: "set_hours";
  /** The browser's own number for it. */
  id: number;
  hours: Hours;
  seen: Hours;
}

/** Give the value at a path; old null adds the key, new null takes it away. */
export interface SetValue {
  op: "set";
  path: (string | number)[];
  /** What the browser saw there; null if nothing. */
  old: Json;
  new: Json;
}

/** A show file as it stands, to those who have it open. */
export interface Show {
  type: "show";
  file: string;
  /** Rises with every change; codes of a stretch name it, too. */
  version: number;
  /** Names the file in binary messages. */
  number: number;
  /** Whether the disk has it; told again when it has. */
  saved: boolean;
  title: string;
  fps: number;
  frames: number;
  tempo: number | null;
  /** The file's own tables, as plain data. */
  data: { [key: string]: Json };
  cues: Cue[];
  /** The show's own. */
  palettes: Palette[];
  can_undo: boolean;
  can_redo: boolean;
  /** What undo would take back, in words. */
  undoes: string;
  redoes: string;
  /** Who changed it last: a browser, an editor on disk, or nobody since opening. */
  changed_by: "" | "browser" | "editor";
  notes: string[];
  /** Of its tables show and limit. */
  values: { [key: string]: Value[] };
  /** Its own groups and routes. */
  places: Place[];
}

/** A show of the folder, to choose from. */
export interface ShowRow {
  file: string;
  title: string;
  /** Null if it can't be read. */
  seconds: number | null;
  problem: string;
  /** A few of it, #rrggbb. */
  colours: string[];
}

/** The shows of the folder. */
export interface Shows {
  type: "shows";
  shows: ShowRow[];
}

/** A colour of a palette: CSS text, its place 0..1, linear sRGB. */
export interface Stop {
  colour: string;
  at: number;
  rgb: [number, number, number];
}

/** The evening in one sentence, and what may be changed. */
export interface Tonight {
  /** The almanac file; empty if there is none. */
  file: string;
  date: string;
  sentence: string;
  pieces: Piece[];
  /** Made dark for tonight on purpose. */
  dark: boolean;
  /** 0..1: the brightest that the evening gets. */
  brightness: number;
  /** Whether tonight differs from the usual rules. */
  changed: boolean;
  can_undo: boolean;
  /** What undo takes back: Another show. */
  undoes: string;
  problem: string;
  /** Of every evening; null if there is no almanac. */
  hours: Hours | null;
  /** Every evening: half as bright from 21:30 to 23:00. */
  hours_sentence: string;
  running: Running | null;
}

/** Take back the last change of a file, whoever made it; redo makes it again. */
export interface Undo {
  type: "undo";
  /** The browser's own number for it. */
  id: number;
  file: string;
}

/** Take back the last change of the evening. */
export interface UndoEvening {
  type: "undo_evening";
  /** The browser's own number for it. */
  id: number;
  /** What the person read that it takes back; empty: any. */
  undoes?: string;
}

/** An option, or a key of a table, as it is, whether the file gives it or not. */
export interface Value {
  name: string;
  /** In the option's unit; null for words, and if it changes over time. */
  number: number | null;
  text: string;
  ramp: Ramp | null;
}

/** What somebody wants of the evenings from a date to another; null is as it was planned. */
export interface Wish {
  first: string;
  last: string;
  /** Planned: nothing of what was chosen for them stays, the almanac's rules hold. */
  what: "show" | "brightness" | "dark" | "planned";
  /** The show, if that is what is wanted. */
  file?: string | null;
  /** 0..1 of the show's own brightness. */
  level?: number | null;
  /** sunset, 17:30; of a show. */
  start?: string | null;
  /** 22:30, sunrise; of a show. */
  stop?: string | null;
  /** Whether it plays on through the quiet hours. */
  quiet?: boolean | null;
  /** Why, in a word: Birthday. */
  name?: string;
}
