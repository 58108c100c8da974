/** On every safety screen. */
export function Caution() {
  return (
    <p class="soft caution">
      A help, not legal advice: local codes, the supplier’s safety data sheet and licensed practice decide.
    </p>
  );
}

/** Beside every classification. */
export function NotHarmless() {
  return (
    <p class="not-harmless">
      <b>No class shown does not mean harmless.</b>
    </p>
  );
}
