//! The pages of the local browser app. In: requests of a browser on this machine; out: pages, drawings and files made of
//! the desk's answers and the store's rows. Must never know: how a number is computed, how rows lie on the disk.
