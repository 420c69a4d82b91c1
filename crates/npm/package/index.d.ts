// What the functions take and return: plain data, as the command's JSON. Moves and lines
// are in UCI unless they are called SAN.

export type Verdict = "sound" | "unsound" | "undecided";

/** What the independent checker says. */
export type Second =
  | "nothing"
  | "skipped"
  | "waiting"
  | { accepted: { positions: number } }
  | { unreached: unknown }
  | { against: unknown };

/** A proof that {@link verify} accepts. */
export interface Certificate {
  text: string;
  bytes: number;
  positions: number;
}

/** What is wrong with a puzzle. */
export interface Finding {
  kind: string;
  weight: "fault" | "remark" | "open";
  path: string[];
  moves: string[];
  line: string[];
  message: string;
  place: { line: number; column: number } | null;
  mends: string[];
}

/** A puzzle that was checked. */
export interface Row {
  index: number;
  place?: string;
  title: string;
  stipulation: string | null;
  verdict: Verdict;
  findings: Finding[];
  nodes: number;
  second: Second;
  certificate?: Certificate | null;
}

/** A move. */
export interface Named {
  uci: string;
  san: string;
}

/** A defence, the answer to it (null where none is needed, or found), and what follows. */
export interface Branch {
  defence: Named;
  answer: (Named & { length: number }) | null;
  tree: Branch[];
}

/** A first move that forces what is asked for, in so many moves (half moves, of a helpmate). */
export interface Key extends Named {
  length: number;
  line: string[];
  by_checks?: boolean;
  reasons?: { kind: string; sentence: string }[];
  tree?: Branch[];
  solutions?: string[][];
}

/** What is known of a position's first moves. */
export interface Solution {
  fen: string;
  stipulation: string;
  status: "proved" | "refuted" | "unknown";
  keys: Key[];
  undecided: string[];
  nodes: number;
  second: Second;
  certificate?: Certificate | null;
}

/** A line, with its value in hundredths of a pawn for the side to move, or else the moves to
 * a mate (negative for being mated). */
export interface BestLine {
  value: number | null;
  mate: number | null;
  grade: "proved" | "table" | "searched";
  depth: number;
  line: string[];
}

/** What a position is worth, and why; the help of `keyproof analyse` says what each part of
 * the explanation is. */
export interface Analysis {
  fen: string;
  lines: BestLine[];
  gist: { sentence: string; about?: unknown }[];
  failures: { line: string[]; code: unknown; sentence: string; proof: unknown }[];
  tries: Record<string, unknown>[];
  whys: Record<string, unknown>[];
  standing: string;
  before: Record<string, unknown>;
  after: Record<string, unknown>;
  won: Record<string, unknown> | null;
  line: string[];
  difficulty: Record<string, unknown>;
  nodes: number;
}

/** What a position or a move comes to. */
export interface Result {
  result: "win" | "draw" | "loss";
  mate: number | null;
  by_rule: boolean;
}

/** What tables know of a position: every move, the best first. */
export interface Ending extends Result {
  fen: string;
  moves: (Named & Result)[];
  tables: string[];
}

/** A position of a game that is worth asking about; the help of `keyproof moments` says what
 * each part is. */
export interface Moment {
  ply: number;
  fen: string;
  turn: "White" | "Black";
  number: number;
  task: string;
  accepted: { uci: string; san: string; line: string[] }[];
  worth: number;
  verdict?: Verdict;
  puzzle?: string;
  [part: string]: unknown;
}

/** What was found in a game. */
export interface GameRow {
  index: number;
  title: string;
  nodes: number;
  moments: Moment[];
  lesson?: string;
  faults?: string[];
}

/** What the independent checker says; where it rejects, the line and why. */
export interface Verification {
  status: "accepted" | "rejected";
  claims: { fen: string; kind: "mate" | "only" | "draw"; mate: number; moves: string[] }[];
  positions: number;
  line?: number;
  reason?: string;
}

/** Called with the number of things done so far; false, or what it throws, stops the work. */
export interface Followed {
  progress?: (done: number) => unknown;
}

/** Bounds what one question may cost; what that does not settle is undecided. `unchecked`
 * puts nothing to the independent checker. */
export interface Effort extends Followed {
  nodes?: number;
  unchecked?: boolean;
}

/** Loads the program, once; every other function does it where it was not done. The program is
 * looked for beside the script unless it is given: by a URL, a response, bytes or a module. */
export function load(
  program?: string | URL | Response | BufferSource | WebAssembly.Module,
): Promise<void>;

/** Checks every claim of every puzzle of a PGN text; one row for each, in their order.
 * @throws an Error named "InputError", with a sentence that names the place. */
export function check(pgn: string, options?: Effort & { certificates?: boolean }): Promise<Row[]>;

/** Finds every first move that forces `#n`, `s#n`, `==n`, `h#n`, `h#n.5` or `gain k in n`. */
export function solve(
  fen: string,
  stipulation: string,
  options?: Effort & { tree?: boolean; reasons?: boolean; certificate?: boolean },
): Promise<Solution>;

/** Says what a position is worth, and why. */
export function analyse(
  fen: string,
  options?: { lines?: number; nodes?: number },
): Promise<Analysis>;

/** Looks an ending of up to four men up; its table is made if no call made it before. */
export function table(fen: string): Promise<Ending>;

/** Finds what in each game of a PGN text is worth asking about; the best moments first. */
export function moments(
  pgn: string,
  options?: Effort & { top?: number; puzzles?: boolean; lesson?: boolean },
): Promise<GameRow[]>;

interface Publishing extends Effort {
  title?: string;
  unsound?: boolean;
}

/** Makes the student's file: one page that judges every move, without network; or the element
 * `<keyproof-lesson>`; or a package for a course, a zip file.
 * @throws an Error named "Refused", whose `rows` are those of {@link check}, where a puzzle is
 * not proved sound and `unsound` is not given. */
export function publish(
  pgn: string,
  options: Publishing & { course: "scorm" | "cmi5"; passFrom?: number; certificates?: boolean },
): Promise<Uint8Array>;
export function publish(
  pgn: string,
  options?: Publishing & ({ certificates?: boolean } | { element: true }),
): Promise<string>;

/** Puts a text of certificates to the independent checker, or a page that carries some. */
export function verify(certificates: string): Promise<Verification>;
