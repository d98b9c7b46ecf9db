// Makes the picture larger in its place.
const steps = ['', 'zoom2', 'zoom4'];

export function zoomPictures(section) {
  const pan = section?.querySelector('.pan');
  if (!pan) return;
  let step = 0;
  const show = (next, atX = 0.5, atY = 0.5) => {
    step = Math.max(0, Math.min(steps.length - 1, next));
    pan.className = `pan ${steps[step]}`;
    pan.scrollTo(atX * pan.scrollWidth - pan.clientWidth / 2, atY * pan.scrollHeight - pan.clientHeight / 2);
    larger.disabled = step === steps.length - 1;
    smaller.disabled = step === 0;
  };
  const button = (text, by) => {
    const made = document.createElement('button');
    made.type = 'button';
    made.textContent = text;
    made.addEventListener('click', () => show(step + by));
    return made;
  };
  const larger = button(section.dataset.larger, 1);
  const smaller = button(section.dataset.smaller, -1);
  const bar = document.createElement('p');
  bar.append(larger, ' ', smaller);
  pan.before(bar);
  pan.querySelector('a').addEventListener('click', (event) => {
    if (event.detail === 0) return; // by keyboard: opens the picture itself
    event.preventDefault();
    const box = event.currentTarget.querySelector('img').getBoundingClientRect();
    show(step === steps.length - 1 ? 0 : step + 1, (event.clientX - box.left) / box.width, (event.clientY - box.top) / box.height);
  });
  show(0);
}
