"use strict";
(() => {
  const $ = (id) => document.getElementById(id);
  const routine = JSON.parse($("routine").textContent);
  const music = $("music");
  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const state = { who: 0, view: routine.view, mirror: false, loop: false, speed: 100, nudge_s: 0 };
  const RIGHT = "#ffe0b2", LEFT = "#60b2d6", BODY = "#333b4d", ARM = "#56617a";
  const TAIL_BEATS = 0.6, TAIL_PIECES = 12, HEAD_PIXELS = 14;

  // ---------------------------------------------------------------- beats and seconds

  const knots = routine.knots;
  function between(value, from, to) {
    let low = 0, high = knots.length - 2;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (knots[middle][from] <= value) low = middle; else high = middle - 1;
    }
    const a = knots[low], b = knots[low + 1];
    return a[to] + (value - a[from]) * (b[to] - a[to]) / (b[from] - a[from]);
  }
  const secondsAt = (beat) => between(beat, 0, 1) - routine.zero_s;
  const beatAt = (time_s) => between(time_s + routine.zero_s, 1, 0);

  // Last item whose start is at or before a beat, -1 if none.
  function lastBefore(items, beat, start) {
    let low = -1, high = items.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (start(items[middle]) <= beat) low = middle; else high = middle - 1;
    }
    return low;
  }

  function barCount(beat) {
    const meters = routine.meters;
    const meter = meters[Math.max(0, lastBefore(meters, beat, (m) => m.beat))];
    const bars = Math.floor((beat - meter.beat) / meter.length);
    return [meter.bar + bars, Math.floor(beat - meter.beat - bars * meter.length) + 1];
  }

  // ---------------------------------------------------------------- what is drawn

  const part = () => routine.parts[state.who];

  // Moves at a beat: one for both hands, or one for each.
  const movesAt = (beat) => part().moves.filter((move) => move.start <= beat && beat < move.end);

  function movesAfter(beat) {
    const later = part().moves.filter((move) => move.start > beat);
    const first = Math.min(...later.map((move) => move.start));
    return later.filter((move) => move.start === first);
  }

  // Room millimetres to flat metres, as composer.export.trails draws them.
  function flat(x, y, z, turn) {
    if (state.view === "audience" && turn) {
      const angle = 2 * Math.PI * turn, c = Math.cos(angle), s = Math.sin(angle);
      [x, y] = [c * x - s * y, s * x + c * y];
    }
    if (state.view === "audience") { x = -x; y = -y; }
    if (state.mirror) x = -x;
    const depth = state.mirror ? -routine.depth[0] : routine.depth[0];
    return [(x + depth * y) / 1000, (z + routine.depth[1] * y) / 1000];
  }

  function placeOf(points, share, turn) {
    const count = points.length / 3 - 1, at = (share - Math.floor(share)) * count;
    const i = Math.floor(at), part = at - i, k = 3 * i;
    const mix = (n) => points[k + n] + (points[k + 3 + n] - points[k + n]) * part;
    return flat(mix(0), mix(1), mix(2), turn);
  }

  function lens(canvas) {
    const ratio = window.devicePixelRatio || 1;
    const wide = Math.max(1, canvas.clientWidth), tall = Math.max(1, canvas.clientHeight);
    if (canvas.width !== Math.round(wide * ratio) || canvas.height !== Math.round(tall * ratio)) {
      canvas.width = Math.round(wide * ratio);
      canvas.height = Math.round(tall * ratio);
    }
    const scale = Math.max(1, Math.min(wide, tall) / 2 - HEAD_PIXELS) / part().reach;
    const context = canvas.getContext("2d");
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    context.clearRect(0, 0, wide, tall);
    context.lineCap = context.lineJoin = "round";
    const middle = part().body.shoulder_z / 1000;
    return { context, scale, to: ([x, y]) => [wide / 2 + x * scale, tall / 2 - (y - middle) * scale] };
  }

  function stroke(look, places, colour, width, dash, opacity = 1, cap = "round") {
    const { context } = look;
    context.lineCap = cap;
    context.beginPath();
    places.forEach((place, i) => { const [x, y] = look.to(place); i ? context.lineTo(x, y) : context.moveTo(x, y); });
    context.globalAlpha = opacity;
    context.strokeStyle = colour;
    context.lineWidth = width;
    context.setLineDash(dash);
    context.stroke();
    context.setLineDash([]);
    context.globalAlpha = 1;
  }

  function disc(look, place, radius, colour, hollow) {
    const { context } = look, [x, y] = look.to(place);
    context.beginPath();
    context.arc(x, y, radius, 0, 2 * Math.PI);
    if (hollow) { context.lineWidth = 3; context.strokeStyle = colour; context.fillStyle = "#090b10"; context.fill(); context.stroke(); }
    else { context.fillStyle = colour; context.fill(); }
  }

  // Which side's colour a hand bears: practising the mirror image exchanges the hands.
  const shownHand = (hand) => (state.mirror ? (hand === "right" ? "left" : "right") : hand);

  function drawBody(look, turn, hands) {
    const body = part().body, half = body.half_width, z = body.shoulder_z;
    const shoulder = { right: flat(half, 0, z, turn), left: flat(-half, 0, z, turn) };
    stroke(look, [shoulder.right, shoulder.left], BODY, 7, []);
    stroke(look, [flat(0, 0, z, turn), flat(0, 0, body.hip_z, turn)], BODY, 7, []);
    disc(look, flat(0, 0, body.head_z, turn), body.head_radius / 1000 * look.scale, BODY, false);
    for (const [hand, place] of hands) stroke(look, [shoulder[hand], place], ARM, 4, []);
  }

  function drawMoves(canvas, moves, beat, moving) {
    const look = lens(canvas);
    const turn = moves.length ? moves[0].turn : 0;
    const shown = [];
    for (const move of moves) {
      const trail = routine.trails[move.trail];
      if (!trail) continue;
      const share = moving ? (beat - move.start) / move.cycle : 0;
      for (const hand of ["left", "right"]) {
        if (trail[hand]) shown.push({ move, hand, share, points: trail[hand] });
      }
    }
    drawBody(look, turn, shown.map((s) => [s.hand, placeOf(s.points.hand, s.share, s.move.turn)]));
    for (const s of shown) {
      const right = shownHand(s.hand) === "right", colour = right ? RIGHT : LEFT;
      const dash = right ? [] : [1, 8], width = right ? 3 : 5;
      const whole = [];
      for (let k = 0; k < s.points.head.length; k += 3) whole.push(flat(s.points.head[k], s.points.head[k + 1], s.points.head[k + 2], s.move.turn));
      stroke(look, whole, colour, width, dash, moving ? 0.45 : 0.9);
      if (!moving || still.matches) drawArrow(look, whole, colour);
    }
    for (const s of shown) {
      const right = shownHand(s.hand) === "right", colour = right ? RIGHT : LEFT;
      if (moving && !still.matches) {
        const piece = TAIL_BEATS / s.move.cycle / TAIL_PIECES;
        for (let step = TAIL_PIECES; step >= 1; step--) {
          const places = [0, 0.5, 1].map((k) => placeOf(s.points.head, s.share - piece * (step - k), s.move.turn));
          stroke(look, places, colour, right ? 5 : 11, [], 0.9 * (1 - step / (TAIL_PIECES + 1)), "butt");
        }
      }
      const hand = placeOf(s.points.hand, s.share, s.move.turn), head = placeOf(s.points.head, s.share, s.move.turn);
      stroke(look, [hand, head], colour, 2, []);
      disc(look, hand, 4, ARM, false);
      disc(look, head, right ? 8 : 12, colour, !right);
    }
  }

  function drawArrow(look, places, colour) {
    const at = Math.max(2, Math.round(places.length * 0.08)), [x, y] = look.to(places[at]), [fx, fy] = look.to(places[at - 2]);
    const angle = Math.atan2(y - fy, x - fx), { context } = look;
    if (Math.hypot(x - fx, y - fy) < 0.5) return;
    context.beginPath();
    for (const turn of [0, 2.5, -2.5]) context.lineTo(x + 13 * Math.cos(angle + turn), y + 13 * Math.sin(angle + turn));
    context.closePath();
    context.fillStyle = colour;
    context.fill();
  }

  // ---------------------------------------------------------------- what is said

  function swapped(words) {
    if (!state.mirror) return words;
    return words.replace(/\b(right|left)\b/g, (word) => (word === "right" ? "left" : "right"));
  }

  const shown = {};
  function say(id, words) {
    if (shown[id] === words) return;
    shown[id] = words;
    $(id).textContent = words;
  }

  function showCall(beat) {
    const calls = part().calls, next = calls[lastBefore(calls, beat, (call) => call.beat) + 1];
    say("next", next ? swapped(next.text) : "the end");
    $("next").classList.toggle("long", ($("next").textContent || "").length > 26);
    const left = next ? Math.ceil(next.beat - beat - 1e-6) : 0;
    say("countdown", next ? String(left) : "");
    $("call").classList.toggle("called", Boolean(next) && beat >= next.called);
  }

  const phraseAt = (beat) => Math.max(0, lastBefore(routine.phrases, beat, (phrase) => phrase.start));

  function showPlace(beat) {
    const index = phraseAt(beat), [bar, count] = barCount(beat);
    say("phrase", routine.phrases[index].name);
    say("count", `bar ${bar}, count ${count}`);
    if (shown.index !== index) {
      shown.index = index;
      [...$("phrases").children].forEach((button, i) => {
        if (i === index) button.setAttribute("aria-current", "true"); else button.removeAttribute("aria-current");
      });
      const button = $("phrases").children[index];
      if (button) $("phrases").scrollLeft = button.offsetLeft - 80;
    }
  }

  function show() {
    const beat = beatAt(music.currentTime - state.nudge_s);
    const drawn = still.matches ? Math.floor(beat) : beat;
    showCall(beat);
    showPlace(beat);
    const now = movesAt(beat), next = movesAfter(beat);
    say("now", swapped(now.map((move) => move.name).join(", ")) || "nothing placed here");
    say("next-name", swapped(next.map((move) => move.name).join(", ")) || "the end");
    drawMoves($("now-picture"), now, drawn, true);
    drawMoves($("next-picture"), next, next.length ? next[0].start : 0, false);
  }

  function keepInLoop() {
    if (!state.loop || music.paused) return;
    if (music.currentTime >= Math.min(state.loop.end_s, music.duration - 0.02)) music.currentTime = Math.max(0, state.loop.start_s);
  }

  function frame() {
    keepInLoop();
    show();
    requestAnimationFrame(frame);
  }

  // ---------------------------------------------------------------- what can be done

  let awake = null;
  async function stayAwake(wanted) {
    try {
      if (wanted && navigator.wakeLock && !awake) awake = await navigator.wakeLock.request("screen");
      else if (!wanted && awake) { const lock = awake; awake = null; await lock.release(); }
    } catch { awake = null; }
  }

  function trouble(words) {
    $("trouble").textContent = words;
    $("trouble").hidden = !words;
  }

  async function playOrPause() {
    if (!music.paused) { music.pause(); return; }
    if (music.ended) music.currentTime = 0;
    try { await music.play(); trouble(""); }
    catch (error) { if (error.name !== "AbortError") trouble("This browser did not start the sound; touch play once more, or try another browser."); }
  }

  function goTo(index) {
    const last = routine.phrases.length - 1, phrase = routine.phrases[Math.min(Math.max(index, 0), last)];
    music.currentTime = Math.max(0, secondsAt(phrase.start));
    if (state.loop) setLoop(true, phrase);
  }

  function step(by) {
    const beat = beatAt(music.currentTime), here = phraseAt(beat);
    const back = by < 0 && beat - routine.phrases[here].start > 2 ? 0 : by;
    goTo(here + back);
  }

  function setLoop(on, phrase) {
    const chosen = phrase || routine.phrases[phraseAt(beatAt(music.currentTime))];
    state.loop = on ? { start_s: secondsAt(chosen.start), end_s: secondsAt(chosen.end) } : false;
    $("loop").setAttribute("aria-pressed", String(on));
  }

  function setSpeed(percent) {
    state.speed = Math.min(110, Math.max(50, percent));
    music.preservesPitch = music.webkitPreservesPitch = true;
    music.playbackRate = music.defaultPlaybackRate = state.speed / 100;
    $("speed").textContent = `${state.speed} %`;
  }

  function setView(view) {
    state.view = view;
    $("view").textContent = view === "audience" ? "audience's view" : "performer's view";
  }

  function setMirror(on) {
    state.mirror = on;
    $("mirror").setAttribute("aria-pressed", String(on));
  }

  function setNudge(nudge_ms) {
    state.nudge_s = Math.min(500, Math.max(-500, nudge_ms)) / 1000;
    $("nudge").textContent = `picture ${Math.round(state.nudge_s * 1000)} ms`;
  }

  function setWho(index) {
    state.who = (index + routine.parts.length) % routine.parts.length;
    $("who").value = String(state.who);
  }

  const KEYS = {
    " ": playOrPause, k: playOrPause, ArrowLeft: () => step(-1), ArrowRight: () => step(1),
    l: () => setLoop(!state.loop), "-": () => setSpeed(state.speed - 5), "+": () => setSpeed(state.speed + 5),
    "=": () => setSpeed(state.speed + 5), v: () => setView(state.view === "audience" ? "performer" : "audience"),
    m: () => setMirror(!state.mirror), p: () => setWho(state.who + 1), Home: () => goTo(0),
  };

  function onKey(event) {
    if (event.ctrlKey || event.metaKey || event.altKey || event.target.tagName === "SELECT") return;
    if (event.key === " " && /^(BUTTON|SUMMARY)$/.test(event.target.tagName)) return;
    const act = KEYS[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (act) { event.preventDefault(); act(); }
  }

  // A swipe over the pictures goes a phrase on or back; a tap plays or pauses.
  let down = null;
  function onDown(event) { down = { x: event.clientX, y: event.clientY }; }
  function onUp(event) {
    if (!down) return;
    const across = event.clientX - down.x, along = event.clientY - down.y;
    down = null;
    if (Math.abs(across) > 50 && Math.abs(across) > 2 * Math.abs(along)) step(across < 0 ? 1 : -1);
    else if (Math.hypot(across, along) < 12) playOrPause();
  }

  function soundUrl() {
    const bytes = Uint8Array.from(atob(routine.sound), (letter) => letter.charCodeAt(0));
    routine.sound = "";
    return URL.createObjectURL(new Blob([bytes], { type: "audio/mp4" }));
  }

  function begin() {
    $("title").textContent = routine.title;
    routine.phrases.forEach((phrase, index) => {
      const button = document.createElement("button");
      button.textContent = phrase.name;
      button.dir = "auto";
      button.style.flexGrow = String(phrase.end - phrase.start);
      button.addEventListener("click", () => goTo(index));
      $("phrases").append(button);
    });
    routine.parts.forEach((one, index) => $("who").append(new Option(one.name, String(index))));
    $("who").hidden = routine.parts.length < 2;
    for (const words of routine.cautions) {
      const line = document.createElement("p");
      line.textContent = words;
      $("cautions").append(line);
    }
    const clicks = {
      play: playOrPause, back: KEYS.ArrowLeft, forward: KEYS.ArrowRight, loop: KEYS.l, slower: KEYS["-"],
      faster: KEYS["+"], view: KEYS.v, mirror: KEYS.m,
      earlier: () => setNudge(state.nudge_s * 1000 - 20), later: () => setNudge(state.nudge_s * 1000 + 20),
    };
    for (const [id, act] of Object.entries(clicks)) $(id).addEventListener("click", () => act());
    $("who").addEventListener("change", () => setWho(Number($("who").value)));
    document.addEventListener("keydown", onKey);
    $("pictures").addEventListener("pointerdown", onDown);
    $("pictures").addEventListener("pointerup", onUp);
    for (const kind of ["play", "pause", "ended"]) music.addEventListener(kind, () => {
      $("play").textContent = music.paused ? "\u25b6\ufe0e" : "\u275a\u275a";
      $("play").setAttribute("aria-label", music.paused ? "play" : "pause");
      stayAwake(!music.paused);
    });
    music.addEventListener("timeupdate", keepInLoop);
    music.addEventListener("error", () => trouble("This browser cannot play the sound of this page; try another one."));
    music.src = soundUrl();
    setSpeed(100);
    setView(state.view);
    setWho(0);
    requestAnimationFrame(frame);
  }

  begin();
})();
