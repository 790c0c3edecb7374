// The code is taken out of the address, so that it stays in no history.
if (location.search) history.replaceState(null, "", location.pathname);
