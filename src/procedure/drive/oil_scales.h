// SPDX-License-Identifier: MIT
// Which grade of a standard an oil is, by data/oil_scales.ini.
#ifndef DW_PROCEDURE_OIL_SCALES_H
#define DW_PROCEDURE_OIL_SCALES_H

#include "base/sheet.h"

// Remarks on SHEET which grade of ISO 3448 and of SAE J306 an oil of AT_40 and
// AT_100 mm²/s (at 40 and 100 °C) is; between grades it says so.
DwStatus dw_oil_scales_remark(DwSheet *sheet, double at_40, double at_100, DwMessage *message);

#endif
