/** What pages are put together from. */
import { randomBytes } from 'node:crypto';
import type { Child, FC, PropsWithChildren } from 'hono/jsx';
import { at } from '../../engine/look-up.js';
import type { Quantity } from './units.js';
import type { View } from './view.js';

export type { Child };

interface ActProps {
  view: View;
  act: string;
  /** Of which thing, where a page has several forms of one act. */
  about?: string;
  /** The button's words; none when the form brings its own buttons. */
  label?: Child;
  /** Sent along unseen. */
  fields?: Record<string, string | number | null | undefined>;
  quiet?: boolean;
  files?: boolean;
  /** What comes back is shown this once: the script does not send it in the background. */
  once?: boolean;
}

/** Has something done: one form, one press. Without the script the server's key keeps a second press harmless. */
export const Act: FC<PropsWithChildren<ActProps>> = ({
  view,
  act,
  about = '',
  label,
  fields,
  quiet,
  files,
  once,
  children,
}) => {
  const refused = view.refusal?.act === act && view.refusal.about === about ? view.refusal : null;
  return (
    <form
      method="post"
      action={view.to(`/do/${act}`)}
      {...(once ? {} : { 'data-act': act })}
      {...(files ? { enctype: 'multipart/form-data' } : {})}
    >
      <input type="hidden" name="token" value={view.formToken} />
      <input type="hidden" name="key" value={randomBytes(16).toString('hex')} />
      <input type="hidden" name="from" value={view.here} />
      {about ? <input type="hidden" name="about" value={about} /> : null}
      {Object.entries(fields ?? {}).map(([name, value]) =>
        value == null ? null : <input type="hidden" name={name} value={String(value)} />,
      )}
      {refused ? (
        <p class="refused" role="alert">
          {refused.message}
        </p>
      ) : null}
      {children}
      {label ? <button class={quiet ? 'quiet' : ''}>{label}</button> : null}
    </form>
  );
};

interface FieldProps {
  view: View;
  act: string;
  about?: string;
  name: string;
  label: Child;
  hint?: Child;
  value?: string | number | null;
}

/** What was typed before a refusal goes before what the page suggests. */
function typed({ view, act, about = '', name, value }: Omit<FieldProps, 'label'>): { value: string; wrong?: string } {
  const refused = view.refusal?.act === act && view.refusal.about === about ? view.refusal : null;
  if (!refused) return { value: value == null ? '' : String(value) };
  const wrong = refused.wrong[name];
  return { value: refused.form.raw(name), ...(wrong ? { wrong } : {}) };
}

const Wrong: FC<{ text?: string | undefined }> = ({ text }) => (text ? <strong class="wrong">{text}</strong> : null);

export const TextField: FC<
  FieldProps & { long?: boolean; required?: boolean; type?: string; inputmode?: string; max?: number; list?: string }
> = (props) => {
  const { name, label, hint, long, required, type, inputmode, max, list } = props;
  const { value, wrong } = typed(props);
  return (
    <label class="field">
      <span>
        {label} {hint ? <small>{hint}</small> : null}
      </span>
      {long ? (
        <textarea name={name} rows={3} maxlength={max ?? 4000} required={required}>
          {value}
        </textarea>
      ) : (
        <input
          name={name}
          value={value}
          type={type ?? 'text'}
          required={required}
          maxlength={type === 'date' || type === 'datetime-local' ? undefined : (max ?? 200)}
          inputmode={inputmode as 'text'}
          list={list}
          autocomplete="off"
        />
      )}
      <Wrong text={wrong} />
    </label>
  );
};

export const MoneyField: FC<FieldProps & { required?: boolean }> = (props) => (
  <TextField {...props} inputmode="decimal" max={20} hint={props.hint ?? `in ${props.view.shop.currency}`} />
);

export const QuantityField: FC<FieldProps & { quantity: Quantity; stored?: number | null }> = ({
  quantity,
  stored,
  ...props
}) => (
  <TextField
    {...props}
    value={stored == null ? (props.value ?? '') : at(props.view.say.show(quantity, stored).split('\u00a0'), 0)}
    inputmode="decimal"
    max={20}
    hint={props.hint ?? `in ${props.view.say.symbol(quantity)}`}
  />
);

export interface Option {
  value: string;
  label: Child;
}

/** A few choices as large taps. */
export const Choice: FC<FieldProps & { options: readonly Option[]; required?: boolean }> = (props) => {
  const { value, wrong } = typed(props);
  return (
    <fieldset>
      <legend>{props.label}</legend>
      <div class="choice">
        {props.options.map((option) => (
          <label>
            <input
              type="radio"
              name={props.name}
              value={option.value}
              checked={option.value === value}
              required={props.required}
            />
            {option.label}
          </label>
        ))}
      </div>
      <Wrong text={wrong} />
    </fieldset>
  );
};

/** Many choices in a list. */
export const Select: FC<FieldProps & { options: readonly { value: string; label: string }[]; none?: string }> = (
  props,
) => {
  const { value, wrong } = typed(props);
  return (
    <label class="field">
      <span>
        {props.label} {props.hint ? <small>{props.hint}</small> : null}
      </span>
      <select name={props.name}>
        {props.none === undefined ? null : <option value="">{props.none}</option>}
        {props.options.map((option) => (
          <option value={option.value} selected={option.value === value}>
            {option.label}
          </option>
        ))}
      </select>
      <Wrong text={wrong} />
    </label>
  );
};

export const Tick: FC<FieldProps> = (props) => {
  const { value } = typed(props);
  return (
    <label class="choice">
      <span>
        <input type="checkbox" name={props.name} value="yes" checked={value !== ''} /> {props.label}
      </span>
    </label>
  );
};

/** Now, unless said: the usual other times are a tap. */
export const When: FC<{ view: View; act: string; about?: string; days?: boolean }> = (props) => (
  <details>
    <summary>Not just now?</summary>
    <Choice
      {...props}
      name="when"
      label="When was it?"
      value=""
      options={
        props.days
          ? [
              { value: '', label: 'today' },
              { value: 'yesterday', label: 'yesterday' },
            ]
          : [
              { value: '', label: 'now' },
              { value: '-10', label: '10 minutes ago' },
              { value: '-60', label: 'an hour ago' },
              { value: 'morning', label: 'this morning, 9 am' },
              { value: 'yesterday', label: 'yesterday, 4 pm' },
            ]
      }
    />
    <TextField {...props} name="whenAt" label="Or another time" type="datetime-local" />
  </details>
);

/** Why an answer is as it is, opened in place. */
export const Reasons: FC<{ view: View; reasons: readonly string[]; title?: string; open?: boolean }> = ({
  view,
  reasons,
  title,
  open,
}) =>
  reasons.length === 0 ? null : (
    <details open={open}>
      <summary class="keep">{title ?? 'Why?'}</summary>
      <ul>
        {reasons.map((reason) => (
          <li>{view.say.sentence(reason)}</li>
        ))}
      </ul>
    </details>
  );

/** One line at the task, the whole text a tap away. It is never left out. */
export const CautionLine: FC<{ title: string; text: string; standard?: string | null }> = ({
  title,
  text,
  standard,
}) => (
  <div class="caution">
    <details>
      <summary class="keep">
        <strong>Take care:</strong> {title}
      </summary>
      <p>{text}</p>
      {standard ? <p>See {standard}.</p> : null}
      <p>The maker’s manual, the safety data sheet, local codes and licensed practice go before this.</p>
    </details>
  </div>
);

export const Fold: FC<PropsWithChildren<{ title: Child; open?: boolean | undefined }>> = ({
  title,
  open,
  children,
}) => (
  <details open={open}>
    <summary>{title}</summary>
    {children}
  </details>
);

export interface Column<T> {
  head: string;
  cell(row: T): Child;
  number?: boolean;
}

/** A table that becomes a list of lines on a narrow screen. */
export function Table<T>({
  caption,
  columns,
  rows,
  empty,
}: {
  caption: string;
  columns: readonly Column<T>[];
  rows: readonly T[];
  empty?: string;
}) {
  if (rows.length === 0) return empty ? <p class="soft">{empty}</p> : null;
  return (
    <div class="scroll">
      <table class="stack">
        <caption>{caption}</caption>
        <thead>
          <tr>
            {columns.map((column) => (
              <th scope="col" class={column.number ? 'number' : ''}>
                {column.head}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {rows.map((row) => (
            <tr>
              {columns.map((column, index) =>
                index === 0 ? (
                  <th scope="row">{column.cell(row)}</th>
                ) : (
                  <td data-head={column.head} class={column.number ? 'number' : ''}>
                    {column.cell(row)}
                  </td>
                ),
              )}
            </tr>
          ))}
        </tbody>
      </table>
    </div>
  );
}

export const Facts: FC<{ facts: readonly (readonly [string, Child | null | undefined | false])[] }> = ({ facts }) => (
  <dl class="facts">
    {facts
      .filter(([, value]) => value != null && value !== false && value !== '')
      .map(([name, value]) => (
        <>
          <dt>{name}</dt>
          <dd>{value}</dd>
        </>
      ))}
  </dl>
);

/** A link to a page, with its address made from the shop's. */
export const Go: FC<
  PropsWithChildren<{ view: View; path: string; query?: Record<string, string>; button?: boolean }>
> = ({ view, path, query, button, children }) => (
  <a href={view.to(path, query)} class={button ? 'button quiet' : ''}>
    {children}
  </a>
);
