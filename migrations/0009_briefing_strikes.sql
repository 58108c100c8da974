CREATE TABLE "briefing_strikes" (
	"briefing_id" bigint PRIMARY KEY NOT NULL,
	"by" bigint NOT NULL,
	"at" timestamptz(3) NOT NULL,
	"note_id" bigint NOT NULL
);
--> statement-breakpoint
ALTER TABLE "briefing_strikes" ADD CONSTRAINT "briefing_strikes_briefing_id_briefings_id_fk" FOREIGN KEY ("briefing_id") REFERENCES "public"."briefings"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "briefing_strikes" ADD CONSTRAINT "briefing_strikes_by_people_id_fk" FOREIGN KEY ("by") REFERENCES "public"."people"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
ALTER TABLE "briefing_strikes" ADD CONSTRAINT "briefing_strikes_note_id_safety_notes_id_fk" FOREIGN KEY ("note_id") REFERENCES "public"."safety_notes"("id") ON DELETE restrict ON UPDATE no action;--> statement-breakpoint
CREATE TRIGGER briefing_strikes_append_only BEFORE UPDATE OR DELETE ON "briefing_strikes" FOR EACH ROW EXECUTE FUNCTION refuse_change();
--> statement-breakpoint
CREATE TRIGGER briefing_strikes_not_emptied BEFORE TRUNCATE ON "briefing_strikes" FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
