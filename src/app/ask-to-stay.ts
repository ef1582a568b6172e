/** Asks the browser not to clear away what is kept when the disk runs low. It may decline; the user is not asked twice. */
export async function askToStay(): Promise<void> {
  try {
    if (!(await navigator.storage.persisted())) await navigator.storage.persist();
  } catch {
    // An old browser keeps it as it keeps everything else.
  }
}
