import type { AriaRole, ComponentChildren } from 'preact';

interface Column {
  label: string;
  /** Right-aligned figures. */
  number?: boolean;
  /** Leads the row where a phone stacks it. */
  main?: boolean;
  /** Names and words of any length, which break anywhere rather than make the table wider. */
  wraps?: boolean;
  /** Repeats its label beside the value in a stacked row. */
  keepLabel?: boolean;
}

interface Row {
  key: string | number;
  cells: ComponentChildren[];
  /** A row that a later one voids. */
  struck?: boolean;
}

interface TableProps {
  caption?: string;
  columns: Column[];
  rows: Row[];
}

// Explicit, because a table laid out as blocks on a phone is no table to a screen reader otherwise.
const role = <const R extends AriaRole>(name: R): { role: R } => ({ role: name });

/** Rows with headings; where there is no room each row stacks under its main cell. */
export function Table({ caption, columns, rows }: TableProps) {
  return (
    <div class="tabled">
      <table class="stacks" {...role('table')}>
        {caption && <caption>{caption}</caption>}
        <thead {...role('rowgroup')}>
          <tr {...role('row')}>
            {columns.map(({ label, number }) => (
              <th key={label} scope="col" class={number ? 'n' : undefined} {...role('columnheader')}>
                {label}
              </th>
            ))}
          </tr>
        </thead>
        <tbody {...role('rowgroup')}>
          {rows.map(({ key, cells, struck }) => (
            <tr key={key} class={struck ? 'struck' : undefined} {...role('row')}>
              {columns.map(({ label, number, main, wraps, keepLabel }, at) => (
                <td
                  key={label}
                  class={
                    [number && 'n', main && 'main', wraps && 'wraps'].filter(Boolean).join(' ') || undefined
                  }
                  data-label={keepLabel ? label : undefined}
                  {...role('cell')}
                >
                  {cells[at]}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}
