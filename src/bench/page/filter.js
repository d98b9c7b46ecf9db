// The list follows what is typed; the button still asks the server, which knows all tools.
export function filterTools(field, list) {
  if (!field || !list) return;
  field.addEventListener('input', () => {
    const sought = field.value.trim().toLowerCase();
    for (const line of list.children) line.hidden = !line.textContent.toLowerCase().includes(sought);
  });
}
