// Keeps the page up to date where the browser can. Without it everything works by loading the page again.
// Plain old JavaScript on purpose: plotters aboard have old browsers.
(function () {
  'use strict';
  if (!window.EventSource || !document.querySelectorAll) { return; }
  var SILENT_AFTER_MS = 25000; // The server speaks at least every 10 s; two missed and the page is not live any more.
  var parts = {}, known = {}, wanted = [], busy = false, heard = 0, made = document.getElementById('made');
  var nodes = document.querySelectorAll('[data-part]');
  for (var i = 0; i < nodes.length; i++) { parts[nodes[i].getAttribute('data-part')] = nodes[i]; known[nodes[i].getAttribute('data-part')] = nodes[i].getAttribute('data-version'); }

  function replace(node, html) {
    var open = {}, i, list = node.querySelectorAll('details[id]'), active = document.activeElement;
    var focus = active && node.contains(active) ? active.id : '';
    for (i = 0; i < list.length; i++) { open[list[i].id] = list[i].open; }
    node.innerHTML = html;
    list = node.querySelectorAll('details[id]');
    for (i = 0; i < list.length; i++) { if (open[list[i].id]) { list[i].open = true; } }
    if (focus && document.getElementById(focus)) { document.getElementById(focus).focus(); }
  }

  function fetchNext() {
    if (busy || !wanted.length) { return; }
    var job = wanted.shift(), request = new XMLHttpRequest();
    busy = true;
    request.open('GET', '/part/' + job.part);
    request.timeout = 10000;
    request.onload = function () {
      if (request.status === 200) { replace(parts[job.part], request.responseText); known[job.part] = job.version; }
    };
    request.onloadend = function () { busy = false; fetchNext(); };
    request.send();
  }

  function say(text, lost) {
    made.innerHTML = '';
    made.appendChild(document.createTextNode(text));
    made.className = lost ? 'made lost' : 'made';
    document.body.className = lost ? 'lost' : '';
  }

  var source = new EventSource('/api/events');
  source.onmessage = function (event) {
    var news = JSON.parse(event.data), part;
    heard = new Date().getTime();
    say('Live. Last heard at ' + news.made + '.', false);
    if (document.hidden) { return; }
    wanted = [];
    for (part in news.parts) {
      if (parts[part] && known[part] !== news.parts[part]) { wanted.push({ part: part, version: news.parts[part] }); }
    }
    fetchNext();
  };
  var started = new Date().getTime();
  window.setInterval(function () {
    if (new Date().getTime() - (heard || started) > SILENT_AFTER_MS) {
      say('Not live any more: the boat computer has been silent. The numbers below are old.', true);
    }
  }, 5000);
}());
