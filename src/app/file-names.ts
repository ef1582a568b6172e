/** Two files of one name, from two folders, stay apart. */
export function uniqueName(files: readonly File[], k: number): string {
  const name = files[k]?.name ?? '';
  const earlier = files.slice(0, k).filter((file) => file.name === name).length;
  return earlier === 0 ? name : `${name} (${earlier + 1})`;
}

/** A name that none of `taken` has, and takes it. */
export function freeName(name: string, taken: Set<string>): string {
  let free = name;
  for (let k = 2; taken.has(free); k++) free = `${name} (${k})`;
  taken.add(free);
  return free;
}
