import { everyPage } from './every-page.ts';

everyPage('the kilns');
