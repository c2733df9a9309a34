// SPDX-License-Identifier: MIT
// The tables behind base/quantity.h, one file a subject. Only quantity.c reads
// them; a new quantity is one row in the file of its subject.
#ifndef DW_BASE_CATALOGUE_H
#define DW_BASE_CATALOGUE_H

#include "base/quantity.h"

typedef struct {
    const DwQuantity *rows;
    size_t count;
} DwCatalogue;

extern const DwCatalogue dw_catalogue_deck;      // deck.*
extern const DwCatalogue dw_catalogue_drive;     // drive.*, ratio.*
extern const DwCatalogue dw_catalogue_record;    // record.*, reseat.*, plan.*
extern const DwCatalogue dw_catalogue_flutter;   // flutter.*, strobe.*, startup.*, music.*
extern const DwCatalogue dw_catalogue_arm;       // arm.*, align.*, template.*, printer.*
extern const DwCatalogue dw_catalogue_force;     // force.*, rake.*, and the arm.* of balance
extern const DwCatalogue dw_catalogue_found;     // found.*, move.*
extern const DwCatalogue dw_catalogue_cartridge; // cartridge.*, resonance.*
extern const DwCatalogue dw_catalogue_loading;   // cable.*, preamp.*, load.*, riaa.*
extern const DwCatalogue dw_catalogue_chain;     // chain.*
extern const DwCatalogue dw_catalogue_bearing;   // bearing.*, platter.*, oil.*
extern const DwCatalogue dw_catalogue_noise;     // noise.*, response.*, lowsweep.*
extern const DwCatalogue dw_catalogue_bands;     // channels.*, azimuth.*, tracking.*
extern const DwCatalogue dw_catalogue_synth;     // synth.*, fault.*
extern const DwCatalogue dw_catalogue_view;      // synth.* of pictures
extern const DwCatalogue dw_catalogue_camera;    // camera.*, print.*, touch.*, belt.*

#define DW_CATALOGUE(name, table) const DwCatalogue dw_catalogue_##name = {table, sizeof(table) / sizeof *(table)}

#endif
