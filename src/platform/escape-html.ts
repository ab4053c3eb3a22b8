const entities: Readonly<Record<string, string>> = {
  '&': '&amp;',
  '<': '&lt;',
  '>': '&gt;',
  '"': '&quot;',
  "'": '&#39;',
};

/** Text as it may stand in HTML or SVG, in an attribute too. */
export const escapeHtml = (text: string): string => text.replace(/[&<>"']/g, (letter) => entities[letter] ?? letter);
