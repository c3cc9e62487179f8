// Puts the answers into the notebook's own metadata, so that every save takes them along, also from a page that was
// loaded anew or from a second window, where the kernel no longer reaches the list that it once showed.
function put(model) {
  const notebook = model.widget_manager?.context?.model;
  if (notebook?.setMetadata) notebook.setMetadata(model.get("name"), model.get("lines"));
}
export default {
  initialize({ model }) {
    put(model);
    model.on("change:lines", () => put(model));
  },
};
