"use strict";
// Small things every place shares. Each place has a file of its own where it needs more.
