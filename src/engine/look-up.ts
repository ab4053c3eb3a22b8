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
export function at<T>(list: ArrayLike<T>, index: number): T {
  const element = list[index];
  if (element === undefined) throw new Error(`A list of ${list.length} has no element ${index}`);
  return element;
}

/**
 * The last element of a list that must have one.
 * @throws Error when it is empty: a fault of ours
 */
export function last<T>(list: ArrayLike<T>): T {
  return at(list, list.length - 1);
}

/**
 * A value that must be there by what is known of the record around it.
 * @param what names it for the error
 * @throws Error when it is missing: a fault of ours
 */
export function required<T>(value: T | null | undefined, what: string): T {
  if (value === null || value === undefined) throw new Error(`There is no ${what}`);
  return value;
}
