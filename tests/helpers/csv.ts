/** RFC 4180 read strictly, but for the delimiter: no lone quote in a plain field, nothing behind a closing one. */
export function parseCsv(text: string, delimiter = ','): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let at = 0;
  while (at < text.length) {
    let field = '';
    if (text[at] === '"') {
      for (at++; text[at] !== '"' || text[at + 1] === '"'; at++) {
        if (at >= text.length) throw new Error('a quoted field without an end');
        if (text[at] === '"') at++;
        field += text[at];
      }
      at++;
    } else
      for (; at < text.length && !`${delimiter}\r\n`.includes(text[at] as string); at++) {
        if (text[at] === '"') throw new Error('a quote in a plain field');
        field += text[at];
      }
    row.push(field);
    if (text[at] === delimiter) at++;
    else if (text.startsWith('\r\n', at)) {
      at += 2;
      rows.push(row);
      row = [];
    } else throw new Error(`neither delimiter nor CRLF at ${at}`);
  }
  return rows;
}
