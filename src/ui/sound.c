#include "ui/sound.h"

#include <stdio.h>
#include <string.h>

#include <SDL.h>

static void
sound_fill(void *context, Uint8 *bytes, int len)
{
    struct sound *s = context;
    tone_render(&s->tone, (int16_t *) (void *) bytes, len / (int) sizeof(int16_t));
}

enum err
sound_open(struct sound *s, double volume)
{
    memset(s, 0, sizeof *s);
    s->volume = volume;
    tone_init(&s->tone, SOUND_RATE_HZ);
    tone_set_volume(&s->tone, volume);
    if (SDL_InitSubSystem(SDL_INIT_AUDIO) != 0) {
        message_tell(&s->why, MESSAGE_SOUND_NONE, SDL_GetError());
        return ERR_OS;
    }
    const SDL_AudioSpec want = { .freq = SOUND_RATE_HZ,
                                 .format = AUDIO_S16SYS,
                                 .channels = 1,
                                 .samples = SOUND_BLOCK,
                                 .callback = sound_fill,
                                 .userdata = s };
    SDL_AudioSpec got;
    s->device = SDL_OpenAudioDevice(NULL, 0, &want, &got, 0); /* 0: SDL converts to what the device takes */
    if (s->device == 0) {
        message_tell(&s->why, MESSAGE_SOUND_NONE, SDL_GetError());
        SDL_QuitSubSystem(SDL_INIT_AUDIO);
        return ERR_OS;
    }
    SDL_PauseAudioDevice(s->device, 0);
    return ERR_OK;
}

void
sound_set_beat(struct sound *s, double spm, bool is_heard)
{
    if (s->device == 0)
        return;
    SDL_LockAudioDevice(s->device);
    tone_set_beat(&s->tone, spm, is_heard);
    SDL_UnlockAudioDevice(s->device);
}

void
sound_signal(struct sound *s, enum tone_sign sign)
{
    if (s->device == 0 || sign == TONE_NONE)
        return;
    SDL_LockAudioDevice(s->device);
    tone_signal(&s->tone, sign);
    SDL_UnlockAudioDevice(s->device);
}

void
sound_set_muted(struct sound *s, bool is_muted)
{
    s->is_muted = is_muted;
    if (s->device == 0)
        return;
    SDL_LockAudioDevice(s->device);
    tone_set_volume(&s->tone, is_muted ? 0.0 : s->volume);
    SDL_UnlockAudioDevice(s->device);
}

bool
sound_is_there(const struct sound *s)
{
    return s->device == 0 || SDL_GetAudioDeviceStatus(s->device) != SDL_AUDIO_STOPPED;
}

void
sound_close(struct sound *s)
{
    if (s->device == 0)
        return;
    SDL_CloseAudioDevice(s->device);
    SDL_QuitSubSystem(SDL_INIT_AUDIO);
    s->device = 0;
}
