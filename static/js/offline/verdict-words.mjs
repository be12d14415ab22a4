// The twin of webapp/ui/verdict_words.py: the verdict in one sentence, the reason, and what to do next.
import { roundHalfEven, showGiveOrTake, showPercent, showValue } from "../measure/index.mjs";
import { fine } from "./meter-state.mjs";

export function partWord(part, words) {
  if (part.off) return words.say("part_apart");
  if (!part.verdict) return words.say("part_unjudged");
  if (part.verdict !== "outside") return words.say(`part_${part.verdict}`);
  const side = part.side === "darker" ? "darker" : "lighter";
  return words.say(part.kind === "difference" ? `out_ground_${side}` : `out_${side}`);
}

// A difference that is out: inside and outside of the bean differ more, or less, than they should.
const outOfStep = (part) => part.kind === "difference" && part.beyond > 0;

export function beyondText(part, words) {
  const { step } = part.scale;
  const limit = words.say(part.side === "darker" ? "dark_limit" : "light_limit");
  const give = showGiveOrTake(part.U, step);
  const distance = showValue(Math.abs(part.beyond), step);
  if (roundHalfEven(part.beyond, step) === 0) return words.say("on_limit", { limit, give });
  if (outOfStep(part)) {
    return words.say(part.side === "darker" ? "ground_dark_against_whole" : "ground_light_against_whole", { far: distance, give });
  }
  return words.say(part.beyond > 0 ? "beyond" : "within", { distance, limit, give });
}

function settleText(part, words) {
  if (part.kind === "difference") return words.say("settle_both");
  return part.settleFills === null ? words.say("settle_none") : words.count("settle", part.settleFills - part.fills);
}

function decidingPart(parts, verdict) {
  const ofIt = Object.values(parts).filter((part) => part.verdict === verdict);
  return ofIt.length ? ofIt.reduce((a, b) => (b.chance < a.chance ? b : a)) : null;
}

// stands: what standing.workOut gives, or null; waits: for a countersignature. {verdict, side, title, reason, next, mark,
// waits}.
export function batchWords(stands, words, waits = false) {
  const said = { ...plainWords(stands, words), mark: "", waits };
  if (!fine(stands?.meterState)) return { ...said, mark: words.say(`proven_${stands.meterState}`), next: words.say("check_or_lead") };
  const first = waits && ["inside", "unjudged"].includes(said.verdict) && !stands.parts.ground?.off;
  return first ? { ...said, next: words.say("release_signed") } : said;
}

function plainWords(stands, words) {
  const made = (verdict, side, title, reason, next) => ({ verdict, side, title, reason, next });
  if (!stands) return made("unmeasured", null, words.say("not_read"), words.say("nothing_read"), "");
  const { verdict, parts, chance } = stands;
  if (verdict === "inside") {
    const reason = words.say(Object.keys(parts).length > 1 ? "all_inside" : "one_inside", { chance: showPercent(chance) });
    return made("inside", null, words.say("in_band"), reason, words.say("release_it"));
  }
  if (verdict === "undecided" || verdict === "outside") {
    const part = decidingPart(parts, verdict);
    const where = beyondText(part, words);
    const reason = outOfStep(part) ? where : `${words.say(part.kind)}: ${where}`;
    const next = verdict === "undecided" ? settleText(part, words) : words.say("hold_it");
    return made(verdict, part.side, `${partWord(part, words)}.`, reason, next);
  }
  if (verdict === "incomplete") return incomplete(stands, words, made);
  if (parts.ground?.off) {
    return made("unjudged", null, words.say("read_unjudged"), words.say("other_setting", parts.ground.off), words.say("read_again"));
  }
  return made("unjudged", null, words.say("read_unjudged"), words.say("without_target"), words.say("if_you_know"));
}

function incomplete({ missing, parts }, words, made) {
  const apart = missing.find((kind) => parts[kind]);
  if (parts.ground?.off && missing.some((kind) => parts[kind]?.off)) {
    const reason = words.say("other_setting", parts.ground.off);
    return made("incomplete", null, words.say("not_judged"), reason, words.say("read_again"));
  }
  if (apart) {
    const reason = words.say("other_way", { kind: words.say(apart) });
    return made("incomplete", null, words.say("not_judged"), reason, words.say("by_targets_method"));
  }
  const out = decidingPart(parts, "outside");
  const soFar = out ? ` ${words.say("so_far")}: ${words.say(out.kind)}: ${partWord(out, words).toLowerCase()}.` : "";
  const kinds = missing.filter((kind) => kind !== "difference");
  const named = (kinds.length ? kinds : ["difference"]).map((kind) => words.say(kind).toLowerCase()).join(", ");
  return made("incomplete", null, words.say("not_complete"), words.say("still_to_read", { kinds: named }) + soFar, "");
}
