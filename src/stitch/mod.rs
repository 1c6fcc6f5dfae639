//! What each stitch takes from the left needle and leaves on the right.
