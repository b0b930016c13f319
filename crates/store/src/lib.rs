//! What a coach keeps: clients, weeks, history, in one embedded database file. In: clients and weeks as values; out: the
//! same after any crash, with their history. Must never know: how a number is computed, web pages.
