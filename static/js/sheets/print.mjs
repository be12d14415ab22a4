// Print, or save as PDF: the browser's own way. Without scripts its menu is still there, and the button is not.
export default class Print {
  constructor(button) {
    button.hidden = false;
    button.addEventListener("click", () => print());
  }
}
