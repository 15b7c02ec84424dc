// Names that every module of the page may use in its comments without an import: what records, screens and rules share.

/** A site as screens use it. */
type Site = import('../store/site.js').Site;
/** A record as screens see it: `RecordView<'kind'>` is one of a type that is known. */
type RecordView<T extends string = string> = import('../records.d.ts').RecordView<T>;
/** As much of a record as rules look at, and as a draft has. */
type ViewRecord<T extends string = string> = import('../rules/survey.js').ViewRecord<T>;
type RecordType = import('../records.d.ts').RecordType;
/** The value of a facet: `ValueOf<'kind', 'lamps'>`; each field may be missing. */
type ValueOf<T extends RecordType, F extends keyof import('../records.d.ts').FacetsOf[T]> = Partial<
  NonNullable<import('../records.d.ts').FacetsOf[T][F]>
>;
/** A facet of a record: of a type that is known each field may be missing, but for what made the record. */
type FacetOf<R extends { facets: object } | null | undefined, N extends keyof NonNullable<R>['facets']> =
  string extends keyof NonNullable<R>['facets']
    ? Value
    : N extends 'identity'
      ? [R] extends [NonNullable<R>]
        ? NonNullable<NonNullable<R>['facets'][N]>
        : Partial<NonNullable<NonNullable<R>['facets'][N]>>
      : Partial<NonNullable<NonNullable<R>['facets'][N]>>;
/** A facet's value where the type of the record is not known. */
type Value = import('../records.d.ts').Value;

/** What was asked before the page's own scripts had come (ask_ahead.js); undefined where nothing was. */
// A name of the whole page can only be declared so.
declare var askedAhead: Promise<import('../ask_ahead.js').AskedAhead | null> | null | undefined;

/** What a sentence tells besides its words. */
type Facts = Record<string, unknown>;
/** A sentence of the words files, by its code. */
type Reason = { code: string; facts: Facts };
/** What was thrown, as far as a screen can say it: a browser's errors have a number for a code, or none. */
type Thrown = { code?: unknown; facts?: Facts; message?: unknown } | null | undefined;

/** An event of an element that is known. */
type EventOf<E extends Element> = Event & { currentTarget: E };
/** What stands in a template. */
type Child = import('preact').ComponentChildren;
/** A screen, by its function: the address gives it the site and what its pattern names. */
// Each screen names the parameters of its own address, and some have no site: any.
type ScreenPart = import('preact').FunctionComponent<any>;
type Units = 'in' | 'mm';

/** A transaction of the phone's database; one that reads alone may not write, and an upgrade may do more. */
type Tx = import('idb').IDBPTransaction<unknown, string[], 'readwrite'>;
type UpgradeTx = import('idb').IDBPTransaction<unknown, string[], 'versionchange'>;
type Database = import('idb').IDBPDatabase<unknown>;

// -- the spec as the page has it (spec/records.json)

type SpecField = import('../views/forms/field_checks.js').Field & { type: string; choices: string[] };
type SpecFacet = { title: string; write: string[]; fields: Record<string, SpecField> };
type SpecRecords = Record<
  string,
  { title: string; parent: string | null; read: string[]; facets: Record<string, SpecFacet> }
>;

// -- what screens read together

/** A group with all that crews need of it (views/crew/fixture_facts.js). */
type GroupOfPartner = {
  group: RecordView<'group'>;
  kind: RecordView<'kind'> | undefined;
  room: RecordView<'room'> | undefined;
  conversion: RecordView<'conversion'> | undefined;
  installations: RecordView<'installation'>[];
  labels: RecordView<'label'>[];
  positions: number[];
};
type GroupRead = GroupOfPartner & {
  /** Positions on which nothing is left to do. */
  done: Set<number>;
  floor: RecordView<'floor'> | undefined;
  partner: GroupOfPartner | null;
};
/** Its conversion is there: who shows a card has asked. */
type ReleasedGroup = GroupRead & { conversion: ConversionThere };
/** A conversion with what it froze: what made the record is there. */
type ConversionThere = RecordView<'conversion'> & {
  facets: { identity: import('../records.d.ts').ConversionFacets['identity'] & {} };
};
/** The partner's conversion is there too: both can be done from here. */
type PartnerReady = GroupOfPartner & { conversion: ConversionThere };
type Summary = import('../storage/types.js').Summary;
type Operation = import('../storage/types.js').Operation;
/** A form as `site.form` opens it. */
type OpenForm = Awaited<ReturnType<Site['form']>>;
type Draft = import('../storage/types.js').Draft;
/** A refused operation as screens are given it. */
type RefusedOperation = Operation & Reason;
/** As much of an operation as a line about it tells. */
type Deed = Partial<Pick<Operation, 'record' | 'kind' | 'type' | 'facet' | 'to'>>;

// -- answers of the server whose parts the page has of its own

/** How much of a site is done (rules/points/completeness.js), and what crews noted last of each fixture, by floor and outcome. */
type CompletenessTold = import('../rules/points/completeness.js').Completeness & {
  installed: Record<string, Record<string, number>>;
  head: number;
};
/** What waits for a manager: the operation, and who had saved it. */
type HeldTold = {
  sender: string | null;
  sender_name: string | null;
  id: string;
  name: string | null;
  operation: import('../storage/types.js').Operation;
};
