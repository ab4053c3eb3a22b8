/**
 * The one script. Without it every page works; with it a tap is kept on the device before it is sent, what waits is told
 * and sent in order, never twice, and timers and progress move.
 */

interface Note {
  /** The signed-in device, so that nobody sends what somebody else tapped. */
  device: string;
  action: string;
  entries: [string, string | Blob][];
  what: string;
  tappedAt: string;
  refused?: string;
}

/** The store numbers what is put into it. */
type StoredNote = Note & { id: number };

const body = document.body;
const device = body.dataset.device ?? '';
const base = body.dataset.base ?? '';

// --- what waits, in the browser's own database ---

let opened: Promise<IDBDatabase> | undefined;
function database(): Promise<IDBDatabase> {
  return (opened ??= new Promise((resolve, reject) => {
    const request = indexedDB.open('frostwright', 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('notes', { keyPath: 'id', autoIncrement: true });
      request.result.createObjectStore('lease');
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  }));
}

/** Resolves once the browser says that it is on the disk. */
async function written<T>(store: string, work: (rows: IDBObjectStore) => IDBRequest<T>): Promise<T> {
  const db = await database();
  return new Promise((resolve, reject) => {
    const transaction = db.transaction(store, 'readwrite', { durability: 'strict' });
    const request = work(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(request.result);
    transaction.onabort = transaction.onerror = () => reject(transaction.error);
  });
}

async function notes(): Promise<StoredNote[]> {
  const db = await database();
  return new Promise((resolve, reject) => {
    const request = db.transaction('notes').objectStore('notes').getAll() as IDBRequest<StoredNote[]>;
    request.onsuccess = () => resolve(request.result.filter((note) => note.device === device));
    request.onerror = () => reject(request.error);
  });
}

/** One page at a time sends; a page that was closed loses its turn after a while. */
const me = String(Math.random());
async function takeTurn(): Promise<boolean> {
  const db = await database();
  return new Promise((resolve) => {
    const transaction = db.transaction('lease', 'readwrite');
    const rows = transaction.objectStore('lease');
    const request = rows.get('sending') as IDBRequest<{ who: string; until: number } | undefined>;
    let mine = false;
    request.onsuccess = () => {
      const held = request.result;
      mine = !held || held.who === me || held.until < Date.now();
      if (mine) rows.put({ who: me, until: Date.now() + 40_000 }, 'sending');
    };
    transaction.oncomplete = () => resolve(mine);
    transaction.onabort = () => resolve(false);
  });
}

/** The next page need not wait until the turn runs out. */
async function leaveTurn(): Promise<void> {
  const db = await database();
  const rows = db.transaction('lease', 'readwrite').objectStore('lease');
  const request = rows.get('sending') as IDBRequest<{ who: string } | undefined>;
  request.onsuccess = () => {
    if (request.result?.who === me) rows.delete('sending');
  };
}

// --- sending ---

interface Answer {
  to?: string;
  said?: string;
  refused?: string;
  wrong?: Record<string, string>;
}
/** 'busy': another page, or this one, is sending just now. */
type Outcome = { done: Answer } | { refused: Answer } | 'later' | 'busy' | 'signedOut';

async function send(note: StoredNote): Promise<Outcome> {
  const withFiles = note.entries.some(([, value]) => typeof value !== 'string');
  const form = withFiles ? new FormData() : new URLSearchParams();
  for (const [name, value] of note.entries) (form as FormData).append(name, value as string);
  let response: Response;
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), withFiles ? 180_000 : 30_000);
  try {
    response = await fetch(note.action, {
      method: 'POST',
      body: form,
      headers: { Accept: 'application/json' },
      signal: stop.signal,
      redirect: 'error',
    });
    if (response.status === 401) return 'signedOut';
    // Somebody else's answer, as of a network that wants a password, is none.
    if (!response.headers.get('Content-Type')?.startsWith('application/json')) return 'later';
    const answer = (await response.json()) as Answer;
    if (response.ok) return { done: answer };
    return answer.refused ? { refused: answer } : 'later';
  } catch {
    return 'later';
  } finally {
    clearTimeout(timer);
  }
}

let sending = false;
let again: ReturnType<typeof setTimeout> | undefined;
let pause = 3000;
/** @returns what became of the note with this id, if it was sent */
async function sendAll(wanted?: number): Promise<Outcome | undefined> {
  let outcome: Outcome | undefined;
  if (sending) return 'busy';
  sending = true;
  try {
    if (!(await takeTurn())) {
      clearTimeout(again);
      again = setTimeout(() => void sendAll(), 3000);
      return 'busy';
    }
    for (const note of await notes()) {
      if (note.refused) continue;
      const one = await send(note);
      if (note.id === wanted) outcome = one;
      if (typeof one === 'string') {
        outcome ??= one;
        if (one === 'later') {
          clearTimeout(again);
          again = setTimeout(() => void sendAll(), pause);
          pause = Math.min(pause * 2, 60_000);
        }
        break;
      }
      pause = 3000;
      if ('done' in one || note.id === wanted) await written('notes', (rows) => rows.delete(note.id));
      else
        await written('notes', (rows) =>
          rows.put({ ...note, refused: one.refused.refused ?? 'It was not recorded.' } satisfies StoredNote),
        );
      await takeTurn();
    }
  } finally {
    sending = false;
    await leaveTurn();
    await tellWaiting();
  }
  return outcome;
}

async function tellWaiting(): Promise<void> {
  const place = document.getElementById('waiting');
  if (!place) return;
  const all = await notes();
  const waiting = all.filter((note) => !note.refused);
  place.replaceChildren();
  if (waiting.length > 0) {
    const line = document.createElement('p');
    line.className = 'note';
    line.textContent =
      `${waiting.length === 1 ? '1 note waits' : `${waiting.length} notes wait`} ` +
      `for the network. They are kept on this device.`;
    place.append(line);
  }
  for (const note of all.filter((one) => one.refused)) {
    const line = document.createElement('p');
    line.className = 'refused';
    line.textContent =
      `“${note.what}”, tapped ` +
      `${new Date(note.tappedAt).toLocaleTimeString([], { hour: 'numeric', minute: '2-digit' })}, ` +
      `was not recorded: ${note.refused} `;
    const clear = document.createElement('button');
    clear.className = 'quiet';
    clear.textContent = 'I have read it';
    clear.onclick = () => void written('notes', (rows) => rows.delete(note.id)).then(tellWaiting);
    line.append(clear);
    place.append(line);
  }
}

function freshKey(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('');
}

function tell(form: HTMLFormElement, text: string, kind: string): void {
  form.querySelector('.told')?.remove();
  const line = document.createElement('p');
  line.className = `told ${kind}`;
  line.setAttribute('role', kind === 'refused' ? 'alert' : 'status');
  line.textContent = text;
  form.append(line);
}

document.addEventListener('submit', (event) => {
  const form = event.target as HTMLFormElement;
  if (!form.matches('form[data-act]')) return;
  event.preventDefault();
  const button = (event as SubmitEvent).submitter as HTMLButtonElement | null;
  void keepAndSend(form, button);
});

/** A camera's picture is ten times what is kept of it: on a weak signal that is minutes. */
async function smaller(file: File): Promise<Blob> {
  if (file.size < 600_000 || !file.type.startsWith('image/')) return file;
  try {
    const picture = await createImageBitmap(file);
    const scale = Math.min(1, 2048 / Math.max(picture.width, picture.height));
    const canvas = document.createElement('canvas');
    canvas.width = Math.round(picture.width * scale);
    canvas.height = Math.round(picture.height * scale);
    canvas.getContext('2d')?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    const made = await new Promise<Blob | null>((resolve) => canvas.toBlob(resolve, 'image/jpeg', 0.85));
    return made && made.size < file.size ? made : file;
  } catch {
    // What this browser cannot read the service may.
    return file;
  }
}

async function keepAndSend(form: HTMLFormElement, button: HTMLButtonElement | null): Promise<void> {
  if (form.dataset.busy) return;
  form.dataset.busy = '1';
  const data = new FormData(form);
  if (button?.name) data.set(button.name, button.value);
  const now = new Date();
  data.set('key', freshKey());
  data.set('tappedAt', now.toISOString());
  const entries: Note['entries'] = [];
  for (const [name, value] of data.entries())
    if (typeof value === 'string') entries.push([name, value]);
    else if (value.size > 0) entries.push([name, await smaller(value)]);
  const what = (button?.textContent ?? 'Note').trim();
  const note: Note = { device, action: form.action, entries, what, tappedAt: now.toISOString() };
  const buttons = [...form.querySelectorAll('button')];
  for (const one of buttons) one.disabled = true;
  let id: number;
  try {
    id = (await written('notes', (rows) => rows.add(note))) as number;
  } catch {
    // No room or no database on this device: send it as any form is sent.
    HTMLFormElement.prototype.submit.call(form);
    return;
  }
  form.dataset.kept = String(id);
  tell(form, 'Kept. Sending …', 'kept');
  let outcome = await sendAll(id);
  for (let tries = 0; outcome === 'busy' && tries < 60; tries += 1) {
    await new Promise((resolve) => setTimeout(resolve, 250));
    outcome = await sendAll(id);
  }
  delete form.dataset.busy;
  if (outcome === undefined && !(await notes()).some((one) => one.id === id)) {
    // It was sent along with others: the page as it is now shows it.
    location.reload();
    return;
  }
  if (outcome === undefined || outcome === 'busy' || outcome === 'later') {
    tell(
      form,
      `Kept at ${now.toLocaleTimeString([], { hour: 'numeric', minute: '2-digit' })}. It is sent when the network is back.`,
      'kept',
    );
    await tellWaiting();
    return;
  }
  if (outcome === 'signedOut') {
    location.assign(`${base}/`);
    return;
  }
  if ('refused' in outcome) {
    for (const one of buttons) one.disabled = false;
    const { refused, wrong = {} } = outcome.refused;
    tell(form, refused ?? 'It was not recorded.', 'refused');
    const field = form.elements.namedItem(Object.keys(wrong)[0] ?? '');
    if (field instanceof HTMLElement) field.focus();
    return;
  }
  const to = new URL(outcome.done.to ?? location.href, location.href);
  if (to.pathname === location.pathname) sessionStorage.setItem('scroll', String(scrollY));
  location.assign(to);
}

// --- signing out takes along what was kept here ---

document.addEventListener('click', (event) => {
  const link = (event.target as HTMLElement).closest('[data-signout]');
  if (!link || link.getAttribute('data-signout') === 'ready') return;
  event.preventDefault();
  void (async () => {
    const waiting = (await notes()).length;
    if (waiting > 0 && !confirm(`${waiting} notes have not been sent and would be lost. Sign out all the same?`))
      return;
    (await database()).close();
    indexedDB.deleteDatabase('frostwright');
    if ('caches' in window) for (const name of await caches.keys()) await caches.delete(name);
    link.setAttribute('data-signout', 'ready');
    (link as HTMLElement).click();
  })();
});

// --- timers, progress, a new plan ---

/** As `shortWorkTime` does, but with the minutes to the end: this script imports nothing. */
function span(milliseconds: number): string {
  const minutes = Math.max(0, Math.round(milliseconds / 60_000));
  return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${String(minutes % 60).padStart(2, '0')}`;
}
function tick(): void {
  for (const element of document.querySelectorAll<HTMLElement>('[data-since]'))
    element.textContent = span(Date.now() - Date.parse(element.dataset.since ?? ''));
  for (const element of document.querySelectorAll<HTMLElement>('[data-until]')) {
    const left = Date.parse(element.dataset.until ?? '') - Date.now();
    element.textContent = left > 0 ? `in ${span(left)}` : 'now';
  }
}
tick();
setInterval(tick, 20_000);

interface State {
  plan: string | null;
  progress: number | null;
  doing: string | null;
}
let failures = 0;
async function look(): Promise<void> {
  let next = 20_000;
  if (!document.hidden && device) {
    try {
      const response = await fetch(`${base}/state`, { headers: { Accept: 'application/json' } });
      if (response.ok) {
        const state = (await response.json()) as State;
        failures = 0;
        const line = document.getElementById('progress');
        const [bar, doing] = [line?.querySelector('progress'), line?.querySelector('span')];
        if (line && bar && doing && state.progress !== null) {
          line.hidden = false;
          bar.value = state.progress;
          doing.textContent = state.doing ?? '';
          next = 2000;
        } else if (line) line.hidden = true;
        const fresh = document.getElementById('fresh');
        if (fresh && body.dataset.plan && state.plan && state.plan !== body.dataset.plan) fresh.hidden = false;
        if ((await notes()).some((note) => !note.refused)) void sendAll();
      }
    } catch {
      failures += 1;
    }
  }
  setTimeout(() => void look(), next * Math.min(4, 1 + failures));
}

if (device) {
  const kept = sessionStorage.getItem('scroll');
  if (kept) {
    sessionStorage.removeItem('scroll');
    scrollTo(0, Number(kept));
  }
  void tellWaiting().then(() => sendAll());
  addEventListener('online', () => void sendAll());
  setTimeout(() => void look(), 1500);
  if ('serviceWorker' in navigator && isSecureContext && body.dataset.worker)
    void navigator.serviceWorker.register(body.dataset.worker, { scope: `${base}/` });
}
for (const button of document.querySelectorAll<HTMLElement>('[data-print]')) button.onclick = () => print();
for (const button of document.querySelectorAll<HTMLElement>('[data-copy]'))
  button.onclick = () => {
    const from = document.getElementById(button.dataset.copy ?? '');
    if (!from) return;
    getSelection()?.selectAllChildren(from);
    document.execCommand('copy');
    button.textContent = 'Copied';
  };
