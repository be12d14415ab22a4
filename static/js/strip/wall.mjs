// The screen on the wall: follows the day by itself, and the next day after midnight.
import { Watch } from "./watch.mjs";

export default class Wall {
  constructor(element) {
    new Watch(element);
  }
}
