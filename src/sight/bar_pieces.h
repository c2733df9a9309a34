// SPDX-License-Identifier: MIT
// What pieces along a thin bar show of its two edges, both edges as one, and thin printed lines that run behind it.
// Within this folder only.
#ifndef DW_SIGHT_BAR_PIECES_H
#define DW_SIGHT_BAR_PIECES_H

#include <stdbool.h>

enum { DW_BAR_PIECES = 12 };

// What one piece along a line shows of it.
typedef struct {
    double off, strength; // how far beside the line [values]; the mean slope summed across
    double filled;        // the share of it where a printed line was filled
} DwBarPiece;

// The pieces of both edges of a bar.
typedef struct {
    DwBarPiece edges[2][DW_BAR_PIECES], middles[DW_BAR_PIECES]; // of a middle: off alone
    bool counts[2][DW_BAR_PIECES], both[DW_BAR_PIECES];
} DwBarPieces;

// Where PIECE lies along the bar: −0.5 at its start … 0.5.
static inline double dw_bar_piece_share(int piece)
{
    return (piece + 0.5) / DW_BAR_PIECES - 0.5;
}

// By how much wider the doubt of a line is than the scatter of its COUNT pieces tells where they do not scatter each
// for itself, as where a line of the ground runs into the edge: by how one piece follows the other, where that is more
// than chance gives. ALONG: the sum of the products of PAIRS of neighbours; SQUARE: of all squares.
double dw_bar_togetherness(double along, double pairs, double square, double count);

// Both edges of a bar as one. SHIFT: its middle's mean and its tilt from end to end, half its width and how much that
// grows along it, beside the lines that its pieces are counted from; standard deviations of the first two [values].
typedef struct {
    double shift[4], mean_doubt, tilt_doubt;
    int kept;
} DwBarJoint;

// JOINT through the pieces that count; those that lie STRAY_MOST and more beside it count no more, the farthest first.
// Where one edge is hidden the other tells the middle: the bar, half of whose width has grown by GROWN along it, may
// grow by GROWTH (a standard deviation).
//
// Returned: false where too few pieces are left.
bool dw_bar_joint_fit(DwBarPieces *pieces, double grown, double growth, double stray_most, DwBarJoint *joint);

// Fills the dark lines in BRIGHTNESS (0 to 255) and LIGHT with what lies before and behind them along the bar. Both are
// [ROWS × COLUMNS], their rows at places along the bar, their columns beside it. What is dark for WINDOW rows and more
// stays as it is: the bar itself, and a line that runs along with it. FILLED, of the same shape, is set where a line
// was filled, and not touched elsewhere.
//
// Method: a closing along the bar; what it fills counts where it stands out from the noise, which it fills as well.
// Reference: J. Serra, "Image analysis and mathematical morphology", 1982.
void dw_bar_fill(double *brightness, double *light, int rows, int columns, int window, bool *filled);

#endif
