/**
 * Answers what asks of the schema alone. The general way of executing a query would hold the event loop for hundreds
 * of milliseconds, since the same types are come to again and again; here each is put into words once a selection.
 */
import {
  type FieldNode,
  type FragmentDefinitionNode,
  getArgumentValues,
  getNullableType,
  type GraphQLField,
  type GraphQLObjectType,
  type GraphQLOutputType,
  type GraphQLResolveInfo,
  type GraphQLSchema,
  isLeafType,
  isListType,
  isWrappingType,
  Kind,
  type OperationDefinitionNode,
  SchemaMetaFieldDef,
  type SelectionSetNode,
  TypeMetaFieldDef,
  TypeNameMetaFieldDef,
} from 'graphql';
import { at, required } from '../../engine/look-up.js';
import { isLeftOut } from './cost.js';

interface Wanted {
  field: GraphQLField<unknown, unknown>;
  args: Record<string, unknown>;
  below: SelectionSetNode | undefined;
}
type Answer = Record<string, unknown>;

const metaFields = [SchemaMetaFieldDef, TypeMetaFieldDef, TypeNameMetaFieldDef];

export class Introspection {
  private readonly wantedOf = new Map<SelectionSetNode, Map<string, Wanted>>();
  private readonly answers = new Map<SelectionSetNode, Map<unknown, Answer>>();

  /** @param variables coerced; the document has passed validation */
  constructor(
    private readonly schema: GraphQLSchema,
    private readonly fragments: ReadonlyMap<string, FragmentDefinitionNode>,
    private readonly variables: Record<string, unknown>,
  ) {}

  /** @returns undefined where the operation asks for something else, too */
  answer(operation: OperationDefinitionNode): Answer | undefined {
    const query = this.schema.getQueryType();
    if (!query || operation.operation !== 'query') return undefined;
    const wanted = this.wanted(operation.selectionSet, query);
    if ([...wanted.values()].some(({ field }) => !metaFields.includes(field))) return undefined;
    return this.ofSet(operation.selectionSet, query, undefined);
  }

  private ofSet(set: SelectionSetNode, type: GraphQLObjectType, source: unknown): Answer {
    let known = this.answers.get(set);
    if (!known) this.answers.set(set, (known = new Map()));
    // Each field has a list or non-null of its own about its type; those of one name are the same.
    const key = isWrappingType(source) ? String(source) : source;
    let answer = known.get(key);
    if (answer) return answer;
    answer = Object.create(null) as Answer;
    for (const [name, { field, args, below }] of this.wanted(set, type)) {
      const info = { schema: this.schema, parentType: type } as GraphQLResolveInfo;
      answer[name] = this.complete(
        field.type,
        required(field.resolve, 'resolver of introspection')(source, args, undefined, info),
        below,
      );
    }
    known.set(key, answer);
    return answer;
  }

  private complete(type: GraphQLOutputType, value: unknown, below: SelectionSetNode | undefined): unknown {
    const plain = getNullableType(type);
    if (value === null || value === undefined) return null;
    if (isListType(plain)) {
      const element = plain.ofType as GraphQLOutputType;
      return Array.from(value as Iterable<unknown>, (one) => this.complete(element, one, below));
    }
    return isLeafType(plain)
      ? plain.serialize(value)
      : this.ofSet(required(below, 'selection'), plain as GraphQLObjectType, value);
  }

  /** The fields that a selection asks for, each once, in order of their first mention. */
  private wanted(set: SelectionSetNode, type: GraphQLObjectType): Map<string, Wanted> {
    const known = this.wantedOf.get(set);
    if (known) return known;
    const nodes = new Map<string, FieldNode[]>();
    this.gather(set, nodes, new Set());
    const wanted = new Map<string, Wanted>();
    for (const [name, its] of nodes) {
      const field = this.fieldOf(type, at(its, 0).name.value);
      if (!field) continue;
      const sets = its.flatMap((one) => (one.selectionSet ? [one.selectionSet] : []));
      const below =
        sets.length <= 1
          ? sets[0]
          : { kind: Kind.SELECTION_SET as const, selections: sets.flatMap((one) => one.selections) };
      wanted.set(name, { field, args: getArgumentValues(field, at(its, 0), this.variables), below });
    }
    this.wantedOf.set(set, wanted);
    return wanted;
  }

  private gather(set: SelectionSetNode, nodes: Map<string, FieldNode[]>, seen: Set<string>): void {
    for (const one of set.selections) {
      if (isLeftOut(one, this.variables)) continue;
      if (one.kind === Kind.FIELD) {
        const name = one.alias?.value ?? one.name.value;
        const earlier = nodes.get(name);
        if (earlier) earlier.push(one);
        else nodes.set(name, [one]);
      } else if (one.kind === Kind.INLINE_FRAGMENT) this.gather(one.selectionSet, nodes, seen);
      else if (!seen.has(one.name.value)) {
        seen.add(one.name.value);
        const fragment = this.fragments.get(one.name.value);
        if (fragment) this.gather(fragment.selectionSet, nodes, seen);
      }
    }
  }

  private fieldOf(type: GraphQLObjectType, name: string): GraphQLField<unknown, unknown> | undefined {
    return metaFields.find((field) => field.name === name) ?? type.getFields()[name];
  }
}
