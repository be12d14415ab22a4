// The error summary takes the focus when it appears, so that a screen reader says it and the keyboard starts there.
export default class Problems {
  constructor(element) {
    element.focus();
  }
}
