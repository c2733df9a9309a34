// SPDX-License-Identifier: MIT
#include "procedure/sight/view_write.h"

#include "audio/film_writer.h"
#include "base/memory.h"
#include "base/quantity.h"
#include "base/text.h"
#include "base/tongue.h"
#include "procedure/input/tone_settings.h"
#include "procedure/sight/view_set_up.h"
#include "synth/settings.h"
#include "synth/view_picture.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum { FRAMES_MOST = 60000, PHOTOS_MOST = 8 };

static const double usual_film_s = 30, shading = 0.2, ticks_hz = 90000;
static const char described[] = "as described, not measured";

bool dw_view_path(const char *path)
{
    return dw_film_writer_is_film(path) || dw_film_writer_is_photo(path);
}

static DwViewSensor sensor_of(const DwInputs *inputs, size_t index)
{
    DwViewSensor sensor = {.noise = dw_inputs_in(inputs, "synth.picture_noise", ""), .shading = shading};
    // A seed of its own for each photograph.
    uint64_t seed = (uint64_t)dw_inputs_in(inputs, "synth.seed", "") + index * 0x100000000u;
    dw_random_init(&sensor.random, seed, DW_STREAM_PICTURES);
    return sensor;
}

static void tell(DwSheet *sheet, const char *key, const char *label, double value, const char *unit, int digits)
{
    dw_reading_set_method(dw_sheet_add_reading(sheet, key, label, value, unit, digits), described);
}

// What pictures can show of a deck's faults: how the platter turns, in a film.
static const char *const in_film[] = {"fault.speed_error", "fault.drift",     "fault.wow",  "fault.wow_phase",
                                      "fault.wow_second",  "fault.belt_hump", "fault.line", "fault.startup",
                                      "synth.length",      "synth.belt_rate"};
// What is for films, for photographs and for both alone.
static const char *const of_films[] = {"synth.frame_rate", "synth.frame_jitter", "synth.readout", "synth.exposure",
                                       "synth.off_centre"};
static const char *const of_photos[] = {"synth.scene", "synth.body_error", "synth.arm_rise"};
static const char *const of_both[] = {"synth.picture_width", "synth.camera_distance", "synth.camera_tilt",
                                      "synth.camera_side",   "synth.lens_bend",       "synth.picture_noise"};

static bool is_among(const char *key, const char *const *keys, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (strcmp(key, keys[i]) == 0)
            return true;
    return false;
}
#define IS_AMONG(key, keys) is_among(key, keys, sizeof(keys) / sizeof *(keys))

static bool is_shown(const char *key, bool is_film)
{
    if (strncmp(key, "fault.", 6) != 0 && strncmp(key, "synth.", 6) != 0)
        return true;
    if (strcmp(key, "synth.seed") == 0 || IS_AMONG(key, of_both))
        return true;
    return is_film ? IS_AMONG(key, in_film) || IS_AMONG(key, of_films) : IS_AMONG(key, of_photos);
}

const char *dw_view_given(const DwInputs *inputs)
{
    const DwQuantity *row;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        if (dw_inputs_given(inputs, row->key) &&
            (IS_AMONG(row->key, of_films) || IS_AMONG(row->key, of_photos) || IS_AMONG(row->key, of_both)))
            return row->key;
    return NULL;
}

// What was described and does not come into the picture is told: a deck file may hold it for its recordings.
static void tell_not_shown(const DwInputs *inputs, bool is_film, DwSheet *sheet)
{
    DwText words = {0};
    const DwQuantity *row;
    for (size_t i = 0; (row = dw_quantity_at(i)); i++)
        if (dw_inputs_given(inputs, row->key) && !is_shown(row->key, is_film))
            dw_text_add(&words, "%s%s", words.length ? ", " : "", row->key);
    char *line = dw_text_take(&words);
    if (line && *line)
        dw_sheet_remark(sheet, "What was given and is not to be seen in it: %s", line);
    free(line);
}

static void add_paths(DwText *words, const char *const *paths, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        dw_text_add(words, " ");
        dw_text_add_word(words, paths[i]);
    }
}

// Adds to a command what was given for the picture and measuring it has to know, as it was typed.
static void hand_on(const DwInputs *inputs, const char *key, DwText *words)
{
    const char *typed = dw_inputs_typed(inputs, key);
    if (!typed)
        return;
    char *operand = dw_text_format("%s=%s", key, typed);
    dw_text_add(words, " ");
    dw_text_add_word(words, operand);
    free(operand);
}

// Empties WORDS.
static void tell_command(DwText *words, DwSheet *sheet)
{
    char *line = dw_text_take(words);
    dw_sheet_remark(sheet, "Measure it: %s", line);
    free(line);
}

// --- photographs -----------------------------------------------------------------------------------------------------

static DwStatus write_photo(const DwInputs *inputs, const DwViewSetUp *set_up, const DwViewCamera *camera, size_t index,
                            const char *path, DwMessage *message)
{
    DwFilmWriter *writer = NULL;
    DwStatus status = dw_film_writer_open(path, camera->width, camera->height, &writer, message);
    if (status != DW_OK)
        return status;
    DwViewSensor sensor = sensor_of(inputs, index);
    uint8_t *pixels = dw_memory_new((size_t)camera->width * (size_t)camera->height, 1);
    dw_view_photograph(camera, &set_up->scene, &sensor, pixels);
    status = dw_film_writer_push(writer, pixels, 0, message);
    free(pixels);
    if (status == DW_OK)
        return dw_film_writer_close(writer, message);
    dw_film_writer_abandon(writer);
    return status;
}

// Where TOUCH is seen in each of COUNT pictures, 0:0 where it is not. Returned: in how many it is.
static size_t see_touch(const DwViewSetUp *set_up, const DwViewCamera *cameras, size_t count, int touch, DwText *words)
{
    size_t seen = 0;
    for (size_t i = 0; i < count; i++) {
        double x, y;
        dw_view_camera_see(&cameras[i], set_up->touches[touch], &x, &y);
        bool is_seen = x > 0 && y > 0 && x < cameras[i].width && y < cameras[i].height;
        dw_text_add(words, " %s=%.1f:%.1f", dw_view_touches[touch], is_seen ? x : 0, is_seen ? y : 0);
        seen += is_seen;
    }
    return seen;
}

// The command that measures an arm, with the places that a finger would touch. A line is left out whose ends are not
// both in two pictures.
static void tell_touches(const DwInputs *inputs, const DwViewSetUp *set_up, const DwViewCamera *cameras,
                         const char *const *paths, size_t count, DwSheet *sheet)
{
    DwText words = {0};
    dw_text_add(&words, "deckwright pose");
    add_paths(&words, paths, count);
    hand_on(inputs, "print.scale", &words);
    for (int touch = 0; touch < DW_TOUCHES; touch += touch == DW_TOUCH_TIP ? 1 : 2) {
        DwText some = {0};
        size_t seen = see_touch(set_up, cameras, count, touch, &some);
        if (touch != DW_TOUCH_TIP) {
            size_t other = see_touch(set_up, cameras, count, touch + 1, &some);
            seen = other < seen ? other : seen;
        }
        if (seen >= 2)
            dw_text_add(&words, "%s", some.chars);
        dw_text_clear(&some);
    }
    tell_command(&words, sheet);
}

static void tell_belt(const DwInputs *inputs, const DwViewSetUp *set_up, const char *path, DwSheet *sheet)
{
    DwText words = {0};
    dw_text_add(&words, "deckwright belt");
    add_paths(&words, &path, 1);
    dw_text_add(&words, " belt.thickness=%gmm", set_up->scene.belt.high_mm);
    hand_on(inputs, "print.scale", &words);
    tell_command(&words, sheet);
}

static void tell_arm(const DwViewSetUp *set_up, DwSheet *sheet)
{
    tell(sheet, "truth.radius", "Stylus tip from the spindle", set_up->radius_mm, "mm", 2);
    tell(sheet, "truth.body_error", "Body against the groove", set_up->body_error_deg, "deg", 2);
    tell(sheet, "truth.cantilever_error", "Cantilever against the groove", set_up->body_error_deg - set_up->skew_deg,
         "deg", 2);
    tell(sheet, "truth.cantilever_skew", "Cantilever against the body", set_up->skew_deg, "deg", 2);
    tell(sheet, "truth.arm_rise", "Rise of the arm tube", set_up->rise_deg, "deg", 2);
}

static DwStatus write_photos(const DwInputs *inputs, const char *const *paths, size_t count, DwSheet *sheet,
                             DwMessage *message)
{
    DwViewSetUp set_up;
    DwViewCamera cameras[PHOTOS_MOST];
    DwStatus status = dw_view_set_up_read(inputs, false, &set_up, message);
    if (status != DW_OK)
        return status;
    for (size_t i = 0; status == DW_OK && i < count; i++) {
        dw_view_set_up_aim(&set_up, inputs, false, i, count, &cameras[i]);
        status = write_photo(inputs, &set_up, &cameras[i], i, paths[i], message);
    }
    if (set_up.kind == DW_VIEW_ARM) {
        tell_arm(&set_up, sheet);
        if (status == DW_OK && count > 1)
            tell_touches(inputs, &set_up, cameras, paths, count, sheet);
    } else if (set_up.kind == DW_VIEW_BELT) {
        tell(sheet, "truth.length", "Belt length, inner", set_up.length_mm, "mm", 1);
        tell(sheet, "truth.width", "Width of the belt from above", set_up.scene.belt.wall_mm, "mm", 2);
        if (status == DW_OK)
            tell_belt(inputs, &set_up, paths[0], sheet);
    }
    dw_view_set_up_clear(&set_up);
    return status;
}

// --- a film ----------------------------------------------------------------------------------------------------------

// How a described platter turns.
typedef struct {
    DwSettings settings;
    double turn_hz; // nominal
} Platter;

static double angle_at(double seconds, const void *user)
{
    const Platter *platter = user;
    const DwCourse *course = &platter->settings.course;
    return 2 * M_PI * platter->turn_hz * ((1 + course->error) * seconds + dw_course_gained(course, seconds));
}

// What the record's hole adds is not the platter's.
static void drop_record(DwCourse *course)
{
    size_t kept = 0;
    for (size_t i = 0; i < course->count; i++)
        if (strcmp(course->lines[i].cause, "record off centre") != 0)
            course->lines[kept++] = course->lines[i];
    course->count = kept;
}

static DwStatus read_platter(const DwInputs *inputs, Platter *platter, DwMessage *message)
{
    DwStatus status = dw_settings_read(inputs, &platter->settings, message);
    if (status != DW_OK)
        return status;
    drop_record(&platter->settings.course);
    platter->turn_hz = dw_nominal_speed(inputs) / 60;
    dw_course_close(&platter->settings.course);
    return DW_OK;
}

// Frame by frame, each at a time that the file can hold.
static DwStatus push_frames(const DwInputs *inputs, DwViewFilm *film, size_t bytes, size_t count, DwFilmWriter *writer,
                            DwMessage *message)
{
    double rate = dw_inputs_in(inputs, "synth.frame_rate", "Hz"),
           jitter = dw_inputs_in(inputs, "synth.frame_jitter", "fraction");
    DwRandom random;
    dw_random_init(&random, (uint64_t)dw_inputs_in(inputs, "synth.seed", ""), DW_STREAM_FRAME_TIMES);
    uint8_t *pixels = dw_memory_new(bytes, 1);
    DwStatus status = DW_OK;
    for (size_t i = 0; status == DW_OK && i < count; i++) {
        double off = i ? dw_random_between(&random, -jitter, jitter) : 0;
        double time = round(((double)i + off) / rate * ticks_hz) / ticks_hz;
        dw_view_film_frame(film, time, pixels);
        status = dw_film_writer_push(writer, pixels, time, message);
    }
    free(pixels);
    return status;
}

static DwStatus write_film(const DwInputs *inputs, const DwViewSetUp *set_up, const Platter *platter, size_t count,
                           const char *path, DwMessage *message)
{
    DwViewCamera camera;
    DwViewSensor sensor = sensor_of(inputs, 0);
    bool is_rolling = dw_inputs_word(inputs, "camera.shutter")[0] == 'r';
    dw_view_set_up_aim(set_up, inputs, true, 0, 1, &camera);
    const DwViewTurning turning = {.readout_s = is_rolling ? dw_inputs_in(inputs, "synth.readout", "s") : 0,
                                   .exposure_s = dw_inputs_in(inputs, "synth.exposure", "s"),
                                   .off_mm = dw_inputs_in(inputs, "synth.off_centre", "mm"),
                                   .angle = angle_at,
                                   .user = platter};
    DwFilmWriter *writer = NULL;
    DwStatus status = dw_film_writer_open(path, camera.width, camera.height, &writer, message);
    if (status != DW_OK)
        return status;
    DwViewFilm *film = dw_view_film_new(&camera, &set_up->scene, &turning, &sensor);
    size_t bytes = (size_t)camera.width * (size_t)camera.height;
    status = push_frames(inputs, film, bytes, count, writer, message);
    dw_view_film_free(film);
    if (status == DW_OK)
        return dw_film_writer_close(writer, message);
    dw_film_writer_abandon(writer);
    return status;
}

static DwStatus count_frames(const DwInputs *inputs, size_t *count, DwMessage *message)
{
    double length = dw_inputs_given(inputs, "synth.length") ? dw_inputs_in(inputs, "synth.length", "s") : usual_film_s;
    double rate = dw_inputs_in(inputs, "synth.frame_rate", "Hz"), frames = floor(length * rate);
    static const char *const times[] = {"synth.readout", "synth.exposure"};
    for (size_t i = 0; i < sizeof times / sizeof *times; i++)
        if (dw_inputs_in(inputs, times[i], "s") * rate > 1)
            return dw_fail(message, DW_BAD_INPUT, "%s: a frame lasts %.1f ms, and this is longer. Give less.", times[i],
                           1000 / rate);
    if (!(frames >= 2 && frames <= FRAMES_MOST))
        return dw_fail(message, DW_BAD_INPUT, "synth.length: a film has 2 to %d frames, not %.0f. Make it %s.",
                       FRAMES_MOST, frames, frames < 2 ? dw_said("longer") : dw_said("shorter"));
    *count = (size_t)frames;
    return DW_OK;
}

static void tell_film(const DwInputs *inputs, const Platter *platter, const char *path, DwSheet *sheet)
{
    const DwCourse *course = &platter->settings.course;
    tell(sheet, "truth.speed_error", "Speed error at the start", 100 * course->error, "%", 4);
    tell(sheet, "truth.drift", "Drift of the speed", 6000 * course->drift_per_s, "%/min", 3);
    tell(sheet, "truth.revolution", "Once a revolution, peak", dw_inputs_in(inputs, "fault.wow", "%"), "%", 3);
    tell(sheet, "truth.run_up", "From standstill to 99 % of the speed", dw_inputs_in(inputs, "fault.startup", "s"), "s",
         2);
    DwText words = {0};
    dw_text_add(&words, "deckwright film");
    add_paths(&words, &path, 1);
    hand_on(inputs, "deck.speed", &words);
    hand_on(inputs, "camera.shutter", &words);
    tell_command(&words, sheet);
}

static DwStatus make_film(const DwInputs *inputs, const char *path, DwSheet *sheet, DwMessage *message)
{
    Platter platter = {.turn_hz = 0};
    DwViewSetUp set_up;
    size_t count = 0;
    DwStatus status = count_frames(inputs, &count, message);
    if (status == DW_OK)
        status = read_platter(inputs, &platter, message);
    if (status != DW_OK)
        return status;
    status = dw_view_set_up_read(inputs, true, &set_up, message);
    if (status == DW_OK) {
        status = write_film(inputs, &set_up, &platter, count, path, message);
        dw_view_set_up_clear(&set_up);
    }
    tell_film(inputs, &platter, path, sheet);
    dw_settings_clear(&platter.settings);
    return status;
}

DwStatus dw_view_write(const DwInputs *inputs, const char *const *paths, size_t count, DwSheet **sheet,
                       DwMessage *message)
{
    const char *film = NULL;
    for (size_t i = 0; i < count && !film; i++)
        film = dw_film_writer_is_film(paths[i]) ? paths[i] : NULL;
    if (film && count > 1)
        return dw_fail(message, DW_BAD_INPUT, "%s: a film is made alone. Make the photographs by a call of their own.",
                       film);
    if (count > PHOTOS_MOST)
        return dw_fail(message, DW_BAD_INPUT, "%s: too many photographs of one set-up. Make at most %d.",
                       paths[PHOTOS_MOST], PHOTOS_MOST);
    for (size_t i = 1; i < count; i++)
        if (is_among(paths[i], paths, i))
            return dw_fail(message, DW_BAD_INPUT, "%s: named twice. Give each photograph a name of its own.", paths[i]);
    *sheet = dw_sheet_new("synth", film ? "Film of a described platter" : "Photographs of a described set-up");
    DwStatus status =
        film ? make_film(inputs, paths[0], *sheet, message) : write_photos(inputs, paths, count, *sheet, message);
    tell_not_shown(inputs, film != NULL, *sheet);
    if (status != DW_OK) {
        dw_sheet_free(*sheet);
        *sheet = NULL;
    }
    return status;
}
