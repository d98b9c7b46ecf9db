// Sends pictures one after the other and says how far each got.
const longestWait = 60;

function line(list, name) {
  const item = document.createElement('li');
  const bar = document.createElement('progress');
  const words = document.createElement('span');
  bar.setAttribute('aria-label', name);
  item.append(document.createTextNode(name), bar, words);
  list.append(item);
  return { item, bar, words };
}

// Resolves to the answer, whatever its status; rejects when nothing came.
function post(url, form, token, row, texts) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open('POST', url);
    request.setRequestHeader('X-Whetsight-Token', token);
    request.responseType = 'json';
    request.upload.addEventListener('progress', (event) => {
      row.bar.max = event.total;
      row.bar.value = event.loaded;
    });
    request.upload.addEventListener('load', () => {
      row.bar.removeAttribute('value');
      row.words.textContent = texts.measuring;
    });
    request.addEventListener('load', () => resolve(request));
    request.addEventListener('error', () => reject(new Error(texts.failed)));
    row.words.textContent = texts.sending;
    request.send(form);
  });
}

const seconds = (n) => new Promise((done) => setTimeout(done, n * 1000));

// A busy bench says when to ask again.
async function postUntilTaken(url, form, token, row, texts) {
  for (;;) {
    const answer = await post(url, form, token, row, texts);
    if (answer.status !== 503 && answer.status !== 429) return answer;
    const wait = Math.min(longestWait, Number(answer.getResponseHeader('Retry-After')) || 5);
    row.words.textContent = texts.busy.replace('#', wait);
    await seconds(wait);
  }
}

async function sendOne(file, form, list) {
  const texts = form.dataset;
  const row = line(list, file.name);
  const fields = new FormData();
  for (const [name, value] of new FormData(form)) if (typeof value === 'string' && name !== 'token') fields.append(name, value);
  fields.append('picture', file);
  let page = null;
  try {
    const answer = await postUntilTaken(texts.upload, fields, form.elements.token.value, row, texts);
    if (answer.status === 201) {
      page = answer.getResponseHeader('Location').replace(/^\/api/, '');
      const verdict = answer.response.verdict ?? 'none';
      const link = document.createElement('a');
      link.href = page;
      link.className = `badge way ${verdict}`;
      link.textContent = texts[verdict];
      row.words.replaceChildren(link);
    } else {
      row.words.textContent = answer.response?.text ?? texts.failed;
    }
  } catch (error) {
    row.words.textContent = error.message;
  }
  row.bar.remove();
  return page;
}

export function sendPictures(form) {
  if (!form) return;
  const list = form.querySelector('.progress');
  const button = form.querySelector('button.main');
  const inputs = [...form.querySelectorAll('input[type=file]')];
  form.addEventListener('submit', async (event) => {
    const files = inputs.flatMap((input) => [...input.files]);
    if (files.length === 0) return; // the server says what is missing
    event.preventDefault();
    list.replaceChildren();
    button.disabled = true;
    let page = null;
    for (const file of files) page = await sendOne(file, form, list);
    button.disabled = false;
    for (const input of inputs) input.value = '';
    if (files.length === 1 && page) location.assign(page);
  });
  // What the camera took was looked at already.
  form.querySelector('#camera').addEventListener('change', (event) => {
    if (event.target.files.length > 0) form.requestSubmit();
  });
}
