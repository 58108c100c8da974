import { GridMatPage, HeightStickPage, SheetsPage } from '../../../views/ware/sheets.tsx';
import { type Answer, page } from '../../core/routes.ts';

export const showSheets = async (): Promise<Answer> => page('Sheets to print', 'ware', <SheetsPage />);
export const showGridMat = async (): Promise<Answer> => page('Grid mat', 'ware', <GridMatPage />);
export const showHeightStick = async (): Promise<Answer> => page('Height stick', 'ware', <HeightStickPage />);
