/** What a piece of HTML says, as somebody reads it. */
export const unescaped = (html: string): string =>
  html
    .replaceAll('&quot;', '"')
    .replaceAll('&#39;', "'")
    .replaceAll('&lt;', '<')
    .replaceAll('&gt;', '>')
    .replaceAll('&amp;', '&');
