// SPDX-License-Identifier: MIT
// A stroboscope disc to print at true scale: one ring of bars for each speed and
// lamp, a hole cross, a check ruler, and the caution that belongs with it.
#ifndef DW_CHART_STROBE_DISC_H
#define DW_CHART_STROBE_DISC_H

#include "base/status.h"
#include "chart/draw/canvas.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    DW_STROBE_RINGS_MOST = 8,
    DW_STROBE_BARS_MOST = 720, // finer bars run together in print
};

typedef struct {
    int bars;          // 1 to DW_STROBE_BARS_MOST
    char label[48];    // speed and lamp, "45 · 50 Hz"
    char standing[48]; // the speed at which it stands, "45.11 rpm (+0.25 %)"
} DwStrobeRing;

typedef struct {
    DwStrobeRing rings[DW_STROBE_RINGS_MOST];
    size_t ring_count;
    bool letter; // US Letter, else A4
} DwStrobeDisc;

// Where things stand on the page (mm from its top left corner).
typedef struct {
    double width_mm, height_mm;
    double centre_x_mm, centre_y_mm;
    double ruler_x_mm, ruler_y_mm; // its nought; it runs 100 mm to the right
} DwStrobePage;

// Where the disc and its ruler stand on A4, or on Letter where DISC says so [mm].
DwStrobePage dw_strobe_page(const DwStrobeDisc *disc);
// The inner and outer radius (mm) of the INDEXth ring from the outside. The rings
// lie by their bars, the most outside; a bar's middle is at twelve o'clock.
void dw_strobe_ring_radii(const DwStrobeDisc *disc, size_t index, double *inner_mm, double *outer_mm);

// What stands on every paper with such rings.
#define DW_STROBE_CAUTION                                                                                              \
    "FLICKER: flashing light of 3 to 60 a second can provoke seizures in photosensitive people. Use this disc only "   \
    "under lamps of 100 flashes a second or more, never under a screen or phone lamp made to flash, and stop if "      \
    "anyone feels unwell. Moving parts can seem to stand still under such light: keep hands and tools away from them."

// Draws RING about the origin of CANVAS, its label in the gap within INNER (0.39 of the bars' length).
void dw_strobe_ring_draw(const DwCanvas *canvas, const DwStrobeRing *ring, double inner, double outer);

// Writes the disc as a PDF to PATH, whole or not at all.
//
// Accuracy: bars within 0.01° of their place (the drawing library holds points in
// 1/256 of 1/72 in).
DwStatus dw_strobe_disc_write(const DwStrobeDisc *disc, const char *path, DwMessage *message);

#endif
