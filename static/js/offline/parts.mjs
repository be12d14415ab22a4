// The pages that the shell carries (templates/sync/shell.html): copies to fill, with their title and their place.
export class Pages {
  constructor(root = document) {
    this.root = root;
  }

  fragment(name) {
    return this.root.querySelector(`template[data-page="${name}"]`).content.cloneNode(true);
  }

  // One element of a page.
  part(name, selector) {
    return this.root.querySelector(`template[data-page="${name}"]`).content.querySelector(selector).cloneNode(true);
  }

  // {title, where, main}: what an online page has of its own.
  page(name) {
    const copy = this.fragment(name);
    const part = (which) => copy.querySelector(`[data-${which}]`);
    return { title: part("title")?.textContent ?? "", where: part("where"), main: part("main") ?? copy };
  }
}

// As many copies of the pattern as there are values, in its place; none takes it away.
export function repeat(pattern, values, fill) {
  const made = [...values].map((value, index) => {
    const copy = pattern.cloneNode(true);
    fill(copy, value, index);
    return copy;
  });
  pattern.replaceWith(...made);
  return made;
}

// Text into an element, or the element away where there is none.
export function textOr(element, text) {
  if (text) element.textContent = text;
  else element.remove();
}

const NAMES = ["id", "name", "for", "aria-describedby", "aria-labelledby"];

// Other numbers in the names by which a form's fields find each other: steps-0- becomes steps-3-.
export function renumber(element, from, to) {
  for (const node of [element, ...element.querySelectorAll(NAMES.map((name) => `[${name}]`).join(","))]) {
    for (const name of NAMES) {
      const value = node.getAttribute(name);
      if (value) node.setAttribute(name, value.replaceAll(from, to));
    }
  }
}
