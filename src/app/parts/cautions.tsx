/** What to mind before acting on a page. */
export function Cautions({ sentences }: { readonly sentences: readonly string[] }) {
  if (sentences.length === 0) return null;
  return (
    <aside class="cautions" aria-label="Cautions">
      <h2>Before you act on this page</h2>
      <ul>
        {sentences.map((sentence) => (
          <li key={sentence}>{sentence}</li>
        ))}
      </ul>
    </aside>
  );
}
