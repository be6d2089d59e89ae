// The trailer in three dimensions, when somebody asks for it. The library is fetched only then.

for (const figure of document.querySelectorAll("[data-scene]")) offer(figure);

function offer(figure) {
  const button = figure.querySelector("[data-open]");
  button.hidden = false;
  button.addEventListener("click", () => open(figure, button), { once: true });
}

async function open(figure, button) {
  const says = figure.querySelector("[data-says]");
  const room = figure.querySelector("[data-room]");
  const say = (text) => (says.textContent = text);
  const { sayFetching, sayHelp, sayNone, sayFailed } = figure.dataset;
  if (!document.createElement("canvas").getContext("webgl2")) {
    button.hidden = true;
    return say(sayNone);
  }
  button.disabled = true;
  say(sayFetching);
  try {
    const three = await import(figure.dataset.library);
    const { scene } = await new three.GLTFLoader().loadAsync(figure.dataset.scene);
    room.hidden = false;
    show(three, scene, figure, room);
    button.hidden = true;
    say(sayHelp);
    room.querySelector("canvas").focus();
  } catch {
    room.hidden = true;
    button.hidden = true;
    say(sayFailed);
  }
}

function show(three, trailer, figure, room) {
  const renderer = new three.WebGLRenderer({ antialias: true, alpha: true });
  const canvas = renderer.domElement;
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", figure.dataset.sayLabel);
  room.prepend(canvas);
  const scene = new three.Scene();
  const sun = new three.DirectionalLight(0xffffff, 2.2);
  sun.position.set(4, 7, 5);
  scene.add(trailer, new three.HemisphereLight(0xffffff, 0x8a8272, 2.4), sun);

  const box = new three.Box3().setFromObject(trailer);
  const middle = box.getCenter(new three.Vector3());
  const reach = box.getSize(new three.Vector3()).length() / 2;
  const camera = new three.PerspectiveCamera(32, 1, reach / 50, reach * 20);
  const controls = new three.OrbitControls(camera, canvas);
  controls.enableDamping = false;
  controls.minDistance = reach * 0.4;
  controls.maxDistance = reach * 8;
  controls.maxPolarAngle = Math.PI * 0.95;
  // The page scrolls under finger and wheel until the trailer is taken in hand: by a tap, a click or a key. Leaving it gives it back.
  const take = (inHand) => {
    canvas.toggleAttribute("data-in-hand", inHand);
    controls.enableZoom = controls.enablePan = inHand;
  };
  canvas.style.touchAction = "";
  take(false);
  canvas.addEventListener("click", () => {
    canvas.focus();
    take(true);
  });
  canvas.addEventListener("blur", () => take(false));

  const draw = () => renderer.render(scene, camera);
  const begin = () => {
    // From the front left and above, as the still picture.
    controls.target.copy(middle);
    camera.position.setFromSpherical(new three.Spherical(reach * 2.5, 1.1, 0.91)).add(middle);
    controls.update();
    draw();
  };
  const move = (change) => {
    const at = new three.Spherical().setFromVector3(camera.position.clone().sub(controls.target));
    change(at);
    at.phi = Math.min(Math.max(at.phi, 0.05), Math.PI * 0.95);
    at.radius = Math.min(Math.max(at.radius, controls.minDistance), controls.maxDistance);
    camera.position.setFromSpherical(at).add(controls.target);
    controls.update();
    draw();
  };
  const step = Math.PI / 24;
  const keys = {
    ArrowLeft: () => move((at) => (at.theta += step)),
    ArrowRight: () => move((at) => (at.theta -= step)),
    ArrowUp: () => move((at) => (at.phi -= step)),
    ArrowDown: () => move((at) => (at.phi += step)),
    "+": () => move((at) => (at.radius /= 1.15)),
    "=": () => move((at) => (at.radius /= 1.15)),
    "-": () => move((at) => (at.radius *= 1.15)),
    Home: begin,
  };
  canvas.addEventListener("keydown", (event) => {
    const act = keys[event.key];
    if (event.key === "Escape") take(false);
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    take(true);
    act();
  });
  controls.addEventListener("change", draw);

  const layers = { frame: ["frame", "running gear"] };
  layers.deck = [...layers.frame, "deck and sides"];
  layers.loads = [...layers.deck, "loads"];
  // The loader writes names without spaces.
  const plain = (name) => name.replaceAll(" ", "_");
  const select = (chosen) => {
    const shown = layers[chosen].map(plain);
    for (const layer of trailer.children) layer.visible = shown.includes(plain(layer.name));
    for (const button of figure.querySelectorAll("[data-layers]")) {
      button.setAttribute("aria-pressed", String(button.dataset.layers === chosen));
    }
    draw();
  };
  for (const button of figure.querySelectorAll("[data-layers]")) {
    button.addEventListener("click", () => select(button.dataset.layers));
  }

  const fit = () => {
    const wide = room.clientWidth;
    const high = Math.round(Math.min(wide * 0.66, window.innerHeight * 0.75));
    renderer.setPixelRatio(Math.min(window.devicePixelRatio, 2));
    renderer.setSize(wide, high);
    camera.aspect = wide / high;
    camera.updateProjectionMatrix();
    draw();
  };
  new ResizeObserver(fit).observe(room);
  fit();
  begin();
  select("deck");
}
