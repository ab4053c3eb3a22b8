/**
 * The value of a key that must be there, because whoever made the map put it in.
 * @throws Error when it is not: a fault of ours
 */
export function lookUp<K, V>(map: ReadonlyMap<K, V>, key: K): V {
  const value = map.get(key);
  if (value === undefined) throw new Error(`Nothing is known of ${String(key)}`);
  return value;
}

/**
 * The element at a place that must be within the list.
 * @throws Error when it is not: a fault of ours
 */
export function at<T>(list: readonly T[], index: number): T {
  const element = list[index];
  if (element === undefined) throw new Error(`A list of ${list.length} has no element ${index}`);
  return element;
}
