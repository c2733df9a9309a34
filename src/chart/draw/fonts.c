// SPDX-License-Identifier: MIT
#include "chart/draw/fonts.h"

#include <pango/pangocairo.h>

#ifdef __SANITIZE_ADDRESS__
#include <fontconfig/fontconfig.h>
#include <sanitizer/lsan_interface.h>

void dw_fonts_ready(void)
{
    static gsize ready = 0;
    if (!g_once_init_enter(&ready))
        return;
    __lsan_disable();
    FcInit();
    __lsan_enable();
    g_once_init_leave(&ready, 1);
}
#else
void dw_fonts_ready(void)
{
}
#endif

void dw_fonts_drop(void)
{
    pango_cairo_font_map_set_default(NULL);
}
