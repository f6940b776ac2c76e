/* band_colour.h - the colour of a target band: one blue, on the runner's screen, on the panel and on paper. */
#ifndef BASE_BAND_COLOUR_H
#define BASE_BAND_COLOUR_H

/* 0xRRGGBB. Of one hue, 210 degrees: on paper and on the light screen, and as deep as the dark screen's figures need. */
#define BAND_COLOUR_ON_LIGHT 0xC9DCEEu
#define BAND_COLOUR_ON_DARK  0x22384Fu

#endif
