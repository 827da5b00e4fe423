// Entries for numbers that are never below nought bring up the keypad of a phone; those below need its minus.
if (!window.keypadWatched) {
  window.keypadWatched = true;
  const set = () => document.querySelectorAll('[class*="st-key-keypad_"] input').forEach((entry) => {
    if (entry.inputMode !== 'decimal') entry.inputMode = 'decimal';
  });
  new MutationObserver(set).observe(document.body, { subtree: true, childList: true });
  set();
}
