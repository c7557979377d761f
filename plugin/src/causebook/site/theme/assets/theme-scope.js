/* What the theme writes into every page (mkdocs-material 9.8, partials/javascripts/base.html), as a file: names that the
   theme's other scripts look for, to remember things on this device. */
var __md_scope = new URL(document.currentScript.dataset.scope, location);
function __md_hash(text) {
  return Array.from(text).reduce(function (sum, char) { return (sum << 5) - sum + char.charCodeAt(0); }, 0);
}
function __md_get(key, store, scope) {
  return JSON.parse((store || localStorage).getItem((scope || __md_scope).pathname + "." + key));
}
function __md_set(key, value, store, scope) {
  try { (store || localStorage).setItem((scope || __md_scope).pathname + "." + key, JSON.stringify(value)); } catch (full) { /* not remembered */ }
}
