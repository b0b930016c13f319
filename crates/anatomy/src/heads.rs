//! Muscle heads: lengths, lever arms and force of every head in a posture.
