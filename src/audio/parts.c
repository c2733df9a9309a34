// SPDX-License-Identifier: MIT
#include "audio/parts.h"

#include <stddef.h>
#include <string.h>

// By name: whatever else is installed, a file is opened by these or not at all.
// Parts that take a playlist go and fetch what it names, from the network or the
// disk; a file that is sent by somebody must not choose that. Of a recording no
// picture is decoded; no text is drawn.
static const char *const parts[] = {
    // Containers of phones, cameras and recorders.
    "aiffparse",
    "apedemux",
    "asfdemux",
    "auparse",
    "avidemux",
    "flvdemux",
    "id3demux",
    "matroskademux",
    "mpegpsdemux",
    "oggdemux",
    "qtdemux",
    "tsdemux",
    "wavparse",
    "avdemux_aiff",
    "avdemux_ape",
    "avdemux_asf",
    "avdemux_dsf",
    "avdemux_mpc",
    "avdemux_mpc8",
    "avdemux_tta",
    "avdemux_voc",
    // What parts a stream into frames.
    "aacparse",
    "ac3parse",
    "amrparse",
    "dcaparse",
    "flacparse",
    "mpegaudioparse",
    "oggaviparse",
    "ogmaudioparse",
    "opusparse",
    "sbcparse",
    "wavpackparse",
    // Decoders of sound.
    "a52dec",
    "adpcmdec",
    "alawdec",
    "amrnbdec",
    "amrwbdec",
    "faad",
    "fdkaacdec",
    "flacdec",
    "mpg123audiodec",
    "mulawdec",
    "opusdec",
    "sbcdec",
    "speexdec",
    "vorbisdec",
    "wavpackdec",
    // The same from gstreamer1.0-libav.
    "avdec_aac",
    "avdec_aac_latm",
    "avdec_ac3",
    "avdec_adpcm_ima_qt",
    "avdec_adpcm_ima_wav",
    "avdec_adpcm_ms",
    "avdec_alac",
    "avdec_als",
    "avdec_amrnb",
    "avdec_amrwb",
    "avdec_ape",
    "avdec_dca",
    "avdec_dsd_lsbf",
    "avdec_dsd_lsbf_planar",
    "avdec_dsd_msbf",
    "avdec_dsd_msbf_planar",
    "avdec_eac3",
    "avdec_flac",
    "avdec_g722",
    "avdec_g726",
    "avdec_g726le",
    "avdec_gsm",
    "avdec_gsm_ms",
    "avdec_mace3",
    "avdec_mace6",
    "avdec_mp1float",
    "avdec_mp2float",
    "avdec_mp3",
    "avdec_mp3float",
    "avdec_mpc7",
    "avdec_mpc8",
    "avdec_opus",
    "avdec_s302m",
    "avdec_sbc",
    "avdec_speex",
    "avdec_tta",
    "avdec_wmalossless",
    "avdec_wmapro",
    "avdec_wmav1",
    "avdec_wmav2",
    "avdec_wmavoice",
};

// What a film needs beside the containers: its parsers and decoders.
static const char *const film_parts[] = {
    "avidemux",   "flvdemux",      "matroskademux",   "mpegpsdemux",    "qtdemux",          "tsdemux",     "h263parse",
    "h264parse",  "h265parse",     "mpeg4videoparse", "mpegvideoparse", "vp9parse",         "av1parse",    "jpegdec",
    "vp8dec",     "vp9dec",        "dav1ddec",        "av1dec",         "openh264dec",      "libde265dec", "avdec_ffv1",
    "avdec_h263", "avdec_h264",    "avdec_h265",      "avdec_mjpeg",    "avdec_mpeg2video", "avdec_mpeg4", "avdec_vp8",
    "avdec_vp9",  "avdec_huffyuv", "avdec_ffvhuff",   "avdec_av1",      "avdec_prores",
};

static bool is_among(const char *name, const char *const *list, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(list[i], name) == 0)
            return true;
    return false;
}

bool dw_parts_has(const char *name)
{
    return is_among(name, parts, sizeof parts / sizeof *parts);
}

bool dw_parts_shows(const char *name)
{
    return is_among(name, film_parts, sizeof film_parts / sizeof *film_parts);
}
