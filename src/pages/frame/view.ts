/** What a page is made with: whose device asks, of which shop, when; and the one way in which pages ask operations. */
import type { z } from 'zod';
import type { Operation, OperationContext, Role } from '../../platform/operation/operation.js';
import type { Form } from './form.js';
import type { Formatter, ShopManner } from './format.js';

/** A signed-in browser. */
export interface Device {
  /** Of its access key: the audit names it, and it is listed and revoked by it. */
  id: string;
  shopId: string;
  role: Role;
  name: string;
  /** Who works with it, where that has been said. */
  personId: string | null;
}

/** What an act of a page was refused with; the page is shown again with it. */
export interface Refusal {
  act: string;
  /** Which of several forms of the act on the page. */
  about: string;
  message: string;
  wrong: Record<string, string>;
  form: Form;
}

/** What can be taken back in one tap. */
export interface Undo {
  act: string;
  fields: Record<string, string>;
  /** What taking it back undoes, said before it is done. */
  says: string;
}

/** Something done lately on this device. */
export interface Done {
  said: string;
  undo: Undo | null;
}

/** Asks an operation with the device's rights; the last argument makes a repeat harmless. */
export type Ask = (operation: Operation, input: unknown, idempotencyKey?: string) => Promise<unknown>;

/** Reads with the device's rights what no operation answers with, such as a file. */
export type Within = <T>(work: (context: OperationContext) => Promise<T>) => Promise<T>;

export interface ListOf<T> {
  items: T[];
  hasNextPage: boolean;
}

export interface ViewGiven {
  device: Device;
  shop: View['shop'];
  say: Formatter;
  operations: ReadonlyMap<string, Operation>;
  ask: Ask;
  within: Within;
  base: string;
  here: string;
  params: Readonly<Record<string, string>>;
  query: Readonly<Record<string, string>>;
  formToken: string;
  publicUrl: string | null;
  secure: boolean;
  done: Done | null;
  refusal: Refusal | null;
  /** Of the tap that has something done; null while only reading. */
  tapKey: string | null;
}

export class View {
  /** Each command of an act has a key of its own, made from the tap's. */
  private asked = 0;

  readonly device: Device;
  readonly shop: ShopManner & { id: string; name: string; code: string };
  readonly say: Formatter;
  /** Where pages begin: "/shop/1a2b3c4d". */
  readonly base: string;
  /** This page below the base, with its query. */
  readonly here: string;
  readonly params: Readonly<Record<string, string>>;
  readonly query: Readonly<Record<string, string>>;
  readonly formToken: string;
  /** What links and QR codes are made from; without it there are none. */
  readonly publicUrl: string | null;
  readonly secure: boolean;
  readonly done: Done | null;
  readonly refusal: Refusal | null;

  constructor(private readonly given: ViewGiven) {
    ({
      device: this.device,
      shop: this.shop,
      say: this.say,
      base: this.base,
      here: this.here,
      params: this.params,
      query: this.query,
      formToken: this.formToken,
      publicUrl: this.publicUrl,
      secure: this.secure,
      done: this.done,
      refusal: this.refusal,
    } = given);
  }

  get seesPrices(): boolean {
    return this.device.role !== 'helper';
  }
  get writes(): boolean {
    return this.device.role !== 'reader';
  }
  get owns(): boolean {
    return this.device.role === 'owner';
  }
  may(operation: string): boolean {
    return this.operationOf(operation).roles.includes(this.device.role);
  }

  within<T>(work: (context: OperationContext) => Promise<T>): Promise<T> {
    return this.given.within(work);
  }

  /** The address of a page. */
  to(path: string, query: Record<string, string> = {}): string {
    const search = new URLSearchParams(query).toString();
    return `${this.base}${path}${search ? `?${search}` : ''}`;
  }

  /** Reads one answer; its type is that of the operation's own shape. */
  async read<S extends z.ZodType>(operation: string, shape: S, input: object = {}): Promise<z.output<S>> {
    return (await this.given.ask(this.operationOf(operation, shape), input)) as z.output<S>;
  }

  /** Reads the first rows of a list, 200 unless said. */
  async list<S extends z.ZodType>(
    operation: string,
    shape: S,
    input: Record<string, unknown> = {},
  ): Promise<ListOf<z.output<S>>> {
    return (await this.given.ask(this.operationOf(operation, shape), { first: 200, ...input })) as ListOf<z.output<S>>;
  }

  /** Has something done. Within an act a repeat of the same tap does nothing again. */
  async act<S extends z.ZodType>(operation: string, shape: S, input: object): Promise<z.output<S>> {
    this.asked += 1;
    const key = this.given.tapKey ? `${this.given.tapKey}.${this.asked}` : undefined;
    return (await this.given.ask(this.operationOf(operation, shape), input, key)) as z.output<S>;
  }

  private operationOf(name: string, shape?: z.ZodType): Operation {
    const operation = this.given.operations.get(name);
    if (!operation) throw new Error(`Pages ask for an operation that does not exist: ${name}`);
    if (shape && operation.output !== shape) throw new Error(`${name} does not answer with the shape it is read by`);
    return operation;
  }
}
