// Talking to the room: requests, uploads with progress, and the live line.

/** What the room refused, in its own words. */
export class Refusal extends Error {
  constructor(code, message) {
    super(message);
    this.code = code;
  }
}

let session = sessionStorage.getItem('session') ?? '';
let reenter = null;

/** Chooses who this tab is. */
export async function enter(person) {
  reenter = async () => {
    const answer = await bare('POST', '/api/enter', { person });
    session = answer.session;
    sessionStorage.setItem('session', session);
  };
  await reenter();
}

async function bare(method, path, body) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers: { 'x-room-session': session, ...(body === undefined ? {} : { 'content-type': 'application/json' }) },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch {
    throw new Refusal('away', 'The room cannot be reached. Is the program still running? Nothing was lost; please try again.');
  }
  const told = await answer.json().catch(() => ({}));
  if (answer.status === 401 && told.code === 'no-password') location.reload();
  if (!answer.ok) throw new Refusal(told.code ?? 'failed', told.message ?? 'Something went wrong. Please try again.');
  return told;
}

/** Asks the room; after a restart of the room it enters again by itself and asks once more. */
export async function ask(method, path, body) {
  try {
    return await bare(method, path, body);
  } catch (error) {
    if (error.code !== 'no-session' || reenter === null) throw error;
    await reenter();
    return bare(method, path, body);
  }
}

/** Sends one file; `onProgress` gets the share 0..1. Resolves with the key under which to post it. */
export function upload(file, onProgress) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open('PUT', `/api/files?name=${encodeURIComponent(file.name)}`);
    request.setRequestHeader('x-room-session', session);
    request.setRequestHeader('content-type', file.type || 'application/octet-stream');
    request.responseType = 'json';
    request.upload.onprogress = (event) => event.lengthComputable && onProgress(event.loaded / event.total);
    request.onload = () => {
      const told = request.response ?? {};
      if (request.status === 200) resolve(told.key);
      else reject(new Refusal(told.code ?? 'failed', told.message ?? 'The upload failed. Please try again.'));
    };
    request.onerror = () =>
      reject(new Refusal('away', 'The upload was cut off. Is the program still running? Please try again.'));
    request.send(file);
  });
}

/** The live line from the count `after`; comes back by itself, and tells its state by `onState`. Returns how to end it. */
export function follow(after, { onMessage, onReset, onState }) {
  let source = null;
  let timer = null;
  let last = after;
  let ended = false;
  const open = () => {
    source = new EventSource(`/api/events?session=${encodeURIComponent(session)}&after=${last}`);
    source.onopen = () => onState(true);
    source.addEventListener('message', (event) => {
      last = Number(event.lastEventId);
      onMessage(JSON.parse(event.data));
    });
    source.addEventListener('reset', () => onReset());
    source.onerror = () => {
      if (ended) return;
      onState(false);
      // Closed for good: the room was started again and does not know this tab any more.
      if (source.readyState === EventSource.CLOSED)
        // 1.5 s, chosen: soon enough to be hardly noticed
        timer = setTimeout(() => reenter().then(() => ended || open(), source.onerror), 1500);
    };
  };
  open();
  return () => {
    ended = true;
    clearTimeout(timer);
    source.close();
  };
}
