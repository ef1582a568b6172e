/** Each horse as people call it: by its name, with the id where two bear it; by its id where it has none. */
export function calledNames({
  horseIds,
  horseNames,
}: {
  readonly horseIds: readonly string[];
  readonly horseNames: readonly (string | null)[];
}): string[] {
  const bearers = new Map<string, number>();
  for (const name of horseNames) if (name) bearers.set(name, (bearers.get(name) ?? 0) + 1);
  return horseIds.map((id, horse) => {
    const name = horseNames[horse];
    if (!name || name === id) return id;
    return bearers.get(name) === 1 ? name : `${name} (${id})`;
  });
}
