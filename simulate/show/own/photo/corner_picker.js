// A photograph is chosen here and sent to the kernel, and its four corners are put on the face by mouse, touch or keys.
const NAMES = ["near left", "near right", "far right", "far left"];
const STEPS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const ZOOM = 4, COARSE = 10;

async function smaller(file, most) {
  const picture = await createImageBitmap(file);
  const scale = Math.min(1, most / Math.max(picture.width, picture.height));
  const sheet = document.createElement("canvas");
  sheet.width = Math.round(picture.width * scale);
  sheet.height = Math.round(picture.height * scale);
  sheet.getContext("2d").drawImage(picture, 0, 0, sheet.width, sheet.height);
  return new Promise((done) => sheet.toBlob(done, "image/jpeg", 0.92));
}

function element(tag, className, parent) {
  const made = document.createElement(tag);
  made.className = className;
  parent.appendChild(made);
  return made;
}

function render({ model, el }) {
  const root = element("div", "workshop-photo", el);
  root.dataset.lmSuppressShortcuts = "true";
  const label = element("label", "workshop-photo-choose", root);
  label.append("Photograph of the print ");
  const file = element("input", "", label);
  file.type = "file";
  file.accept = "image/jpeg,image/png,image/webp";
  const said = element("p", "workshop-photo-said", root);
  said.setAttribute("role", "status");
  const stage = element("div", "workshop-photo-stage", root);
  const picture = element("img", "", stage);
  picture.alt = "The photograph, with the four corners of the face marked";
  picture.draggable = false;
  const lines = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  lines.setAttribute("aria-hidden", "true");
  lines.setAttribute("preserveAspectRatio", "none");
  const shape = ["under", "over"].map((name) => {
    const one = document.createElementNS("http://www.w3.org/2000/svg", "polygon");
    one.setAttribute("class", name);
    lines.appendChild(one);
    return one;
  });
  stage.appendChild(lines);
  const lens = element("div", "workshop-photo-lens", root);
  lens.setAttribute("aria-hidden", "true");
  const corners = NAMES.map((name, k) => {
    const one = element("button", "workshop-photo-corner", stage);
    one.type = "button";
    one.textContent = String(k + 1);
    one.addEventListener("keydown", (event) => {
      const step = STEPS[event.key];
      if (!step) return;
      event.preventDefault();
      event.stopPropagation();
      const [column, row] = model.get("corners")[k], by = event.shiftKey ? 1 : COARSE;
      put(k, column + step[0] * by, row + step[1] * by);
    });
    one.addEventListener("pointerdown", (event) => { one.setPointerCapture(event.pointerId); one.focus(); event.preventDefault(); });
    one.addEventListener("pointermove", (event) => {
      if (!one.hasPointerCapture(event.pointerId)) return;
      const box = picture.getBoundingClientRect(), [columns, rows] = model.get("size");
      put(k, (event.clientX - box.left) / box.width * columns - 0.5, (event.clientY - box.top) / box.height * rows - 0.5);
    });
    one.addEventListener("focus", () => look(k));
    one.addEventListener("blur", () => { lens.style.visibility = "hidden"; });
    return one;
  });
  function put(k, column, row) {
    const [columns, rows] = model.get("size"), all = model.get("corners").map((one) => one.slice());
    const within = (value, many) => Math.round(10 * Math.min(many - 1, Math.max(0, value))) / 10;
    all[k] = [within(column, columns), within(row, rows)];
    model.set("corners", all);
    model.save_changes();
    place();
    look(k);
  }
  function look(k) {
    const [columns, rows] = model.get("size"), [column, row] = model.get("corners")[k];
    const wide = picture.clientWidth * ZOOM, high = picture.clientHeight * ZOOM, half = lens.clientWidth / 2;
    lens.style.visibility = "visible";
    lens.style.backgroundImage = `url(${model.get("shown")})`;
    lens.style.backgroundSize = `${wide}px ${high}px`;
    lens.style.backgroundPosition =
      `${half - (column + 0.5) / columns * wide}px ${half - (row + 0.5) / rows * high}px`;
  }
  function place() {
    const [columns, rows] = model.get("size"), all = model.get("corners"), there = columns > 0 && all.length === 4;
    stage.style.display = model.get("shown") && there ? "" : "none";
    lens.style.display = stage.style.display;
    if (!there) return;
    lines.setAttribute("viewBox", `0 0 ${columns} ${rows}`);
    shape.forEach((one) => one.setAttribute("points", all.map(([c, r]) => `${c + 0.5},${r + 0.5}`).join(" ")));
    all.forEach(([column, row], k) => {
      corners[k].style.left = `${100 * (column + 0.5) / columns}%`;
      corners[k].style.top = `${100 * (row + 0.5) / rows}%`;
      corners[k].setAttribute("aria-label",
        `Corner ${k + 1}, ${NAMES[k]}: column ${Math.round(column)}, row ${Math.round(row)}. Arrow keys move it`);
    });
  }
  function follow() {
    if (model.get("shown")) picture.src = model.get("shown"); else picture.removeAttribute("src");
    place();
  }
  file.addEventListener("change", async () => {
    let chosen = file.files[0];
    if (!chosen) return;
    const name = chosen.name, most = model.get("most_bytes");
    said.textContent = "The photograph is on its way.";
    if (chosen.size > most) {
      try { chosen = await smaller(chosen, 4000); } catch { chosen = null; }
    }
    if (!chosen || chosen.size > most) {
      said.textContent = `${name} is larger than ${most / 1e6} MB and this browser cannot read it as a picture. Save it as JPEG.`;
      return;
    }
    const bytes = await chosen.arrayBuffer();
    model.send({ name }, undefined, [bytes]);
    file.value = "";
  });
  const heard = () => { said.textContent = model.get("said"); };
  model.on("change:said", heard);
  model.on("change:shown", follow);
  model.on("change:corners", place);
  heard();
  follow();
}
export default { render };
