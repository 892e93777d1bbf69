// Takes the key from behind the "#" of a scanned code, where no server and no other page sees it.
const key = location.hash.slice(1);
if (key) {
  document.getElementById("key").value = key;
  history.replaceState(null, "", location.pathname);
}
