// Every page works without this: scripts only add comfort.
import { sendPictures } from './upload.js';
import { zoomPictures } from './zoom.js';
import { filterTools } from './filter.js';
import { readLabels } from './scan.js';
import { lookLive } from './live.js';

sendPictures(document.querySelector('form[data-upload]'));
zoomPictures(document.querySelector('.picture'));
filterTools(document.querySelector('#q'), document.querySelector('[data-filter]'));
lookLive(document.querySelector('[data-live]'));
readLabels(document.querySelector('#label'));
