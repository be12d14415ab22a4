// The day strip: starts at the newest batch, keeps its place when it refreshes, and shows in the small picture of
// the day which part of it is in view.
import { Watch } from "./watch.mjs";

const AT_END_PX = 24;

export default class Strip {
  constructor(element) {
    this.element = element;
    this.attach();
    this.toNewest();
    addEventListener("resize", () => this.frame());
    new Watch(element, (names) => this.refreshed(names));
  }

  attach() {
    this.scroller = this.element.querySelector(".across");
    this.overview = this.element.querySelector(".overview");
    this.scroller?.addEventListener("scroll", () => this.moved(), { passive: true });
    this.overview?.addEventListener("click", (event) => this.jump(event));
    this.frame();
  }

  toNewest() {
    if (this.scroller) this.scroller.scrollLeft = this.scroller.scrollWidth;
    this.moved();
  }

  moved() {
    const it = this.scroller;
    if (!it) return;
    this.left = it.scrollLeft;
    this.atEnd = it.scrollLeft + it.clientWidth >= it.scrollWidth - AT_END_PX;
    this.frame();
  }

  // Whoever looks at the newest batches goes on looking at the newest; everybody else stays where they are.
  refreshed(names) {
    if (names.includes("strip")) {
      const { left, atEnd } = this;
      this.attach();
      if (atEnd ?? true) this.toNewest();
      else if (this.scroller) this.scroller.scrollLeft = left;
    }
    if (names.includes("counts")) {
      document.getElementById("said").textContent = this.element.querySelector("h1").textContent;
    }
  }

  frame() {
    const [it, frame] = [this.scroller, this.overview?.querySelector(".window")];
    if (!it || !frame) return;
    const all = it.scrollWidth <= it.clientWidth + 1;
    const cells = this.element.querySelector(".cells");
    const from = (it.scrollLeft / cells.scrollWidth) * 1000;
    const wide = ((it.clientWidth - (it.scrollWidth - cells.scrollWidth)) / cells.scrollWidth) * 1000;
    frame.setAttribute("x", all ? 0 : from);
    frame.setAttribute("width", all ? 0 : wide);
  }

  jump(event) {
    const box = this.overview.getBoundingClientRect();
    const share = (event.clientX - box.left) / box.width;
    this.scroller.scrollLeft = share * this.scroller.scrollWidth - this.scroller.clientWidth / 2;
  }
}
