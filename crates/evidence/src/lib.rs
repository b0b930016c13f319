//! Training studies beside what the mechanics predict. In: studies and contrasts as data, a library; out: predictions,
//! agreement per class, beside two trivial rules. Must never know: files, terminals, pages, clients.
