// A label's picture that was taken is sent.
export function readLabels(input) {
  input?.addEventListener('change', () => input.files.length > 0 && input.form.requestSubmit());
}
