// The bench camera's picture with the edge drawn on it.  One frame is asked for at a time, always
// the newest: where this is slow, frames are left out and none is old.
const shapes = {
  up: '↑', right: '→', down: '↓', left: '←', clockwise: '↻', counterclockwise: '↺', on: '✓', back: '⇄',
};

// Asked for, and read; not decoded yet.
async function askFrame(url, after) {
  const answer = await fetch(`${url}&after=${after}`, { cache: 'no-store' });
  if (!answer.ok) throw new Error((await answer.json()).text);
  const bytes = new Uint8Array(await answer.arrayBuffer());
  const end = bytes.indexOf(10);
  return { said: JSON.parse(new TextDecoder().decode(bytes.subarray(0, end))), jpeg: bytes.subarray(end + 1) };
}

// While a frame is decoded and drawn the next one is on its way already.
function askAhead(url, after) {
  const asked = askFrame(url, after);
  asked.catch(() => {}); // told when it is waited for
  return asked;
}

async function draw(canvas, { said, jpeg }) {
  const picture = await createImageBitmap(new Blob([jpeg], { type: 'image/jpeg' }));
  if (canvas.width !== said.width) canvas.width = said.width;
  if (canvas.height !== said.height) canvas.height = said.height;
  const context = canvas.getContext('2d');
  context.drawImage(picture, 0, 0);
  picture.close();
  const path = new Path2D();
  for (let i = 0; i + 1 < said.outline.length; i += 2) path[i ? 'lineTo' : 'moveTo'](said.outline[i] / 10, said.outline[i + 1] / 10);
  context.lineJoin = 'round';
  context.strokeStyle = '#fff';
  context.lineWidth = said.width / 180;
  context.stroke(path);
  context.strokeStyle = said.word === 'good' || said.word === 'take' ? '#009e73' : '#0072b2';
  context.lineWidth = said.width / 360;
  context.stroke(path);
}

async function take(section, frame) {
  const fields = new URLSearchParams({ view: section.dataset.view, frame });
  const answer = await fetch(section.dataset.take, { method: 'POST', body: fields, headers: { 'X-Whetsight-Token': section.querySelector('[name=token]').value } });
  if (!answer.ok) throw new Error((await answer.json()).text);
  location.assign(answer.headers.get('Location').replace(/^\/api/, ''));
}

// Median delay and frames a second of the last ones, for people and for tests.
function count(section, times, said, texts) {
  const now = Date.now();
  times.push({ now, delay: now - said.grabbed_ms });
  if (times.length > 30) times.shift();
  if (times.length < 10) return;
  const rate = ((times.length - 1) * 1000) / Math.max(now - times[0].now, 1);
  const delays = times.map(({ delay }) => delay).sort((a, b) => a - b);
  section.dataset.rate = rate.toFixed(1);
  section.dataset.delay = delays[delays.length >> 1].toFixed(0);
  section.querySelector('.facts').textContent = texts.speed.replace('#', rate.toFixed(0));
}

export async function lookLive(section) {
  if (!section) return;
  const texts = section.dataset;
  const words = section.querySelector('.words');
  const arrow = section.querySelector('.arrow');
  const times = [];
  let coming = askAhead(texts.live, 0);
  let wanted = null;
  const say = (text) => words.textContent !== text && (words.textContent = text);
  section.querySelector('button')?.addEventListener('click', () => (wanted = 0));
  while (wanted === null) {
    try {
      const frame = await coming;
      if (!frame.said.taken) coming = askAhead(texts.live, frame.said.frame);
      await draw(section.querySelector('canvas'), frame);
      count(section, times, frame.said, texts);
      arrow.textContent = shapes[frame.said.arrow] ?? '';
      say(frame.said.text);
      if (frame.said.taken) wanted = frame.said.frame;
    } catch (error) {
      say(error.message);
      await new Promise((done) => setTimeout(done, 2000));
      coming = askAhead(texts.live, 0);
    }
  }
  arrow.textContent = '';
  say(texts.taken);
  try {
    await take(section, wanted);
  } catch (error) {
    say(error.message);
  }
}
