namespace Contracts.Store.Books;

/// <summary>
/// The tables of the books. A posting set is what one command added, as arrays of its lines: one row instead of ten, and
/// the view `postings` shows them line by line. `book_cells` is the cube: a sum for each account, reason, authority, shop
/// and pair of days that occurs, kept in the same transaction, and of what is earned by day the deferred side alone
/// (<see cref="Contracts.Books.EarnedByDay"/>); `book_months` is the same by month, so that a question about years adds
/// up months and only the days at its edges.
/// </summary>
internal static class BookSchema
{
    public const string Sql = """
        create table contracts.posting_sets (
            sequence bigint not null,
            stream text collate "C" not null,
            shop text collate "C" not null,
            recorded_at timestamptz not null,
            open_from date null,
            through date not null,
            accounts int[] not null,
            authorities text[] null,
            days date[] not null,
            starts date[] null,
            ends date[] null,
            cents bigint[] not null,
            primary key (sequence, stream));
        create index posting_sets_stream on contracts.posting_sets (stream);
        create index posting_sets_recorded on contracts.posting_sets (recorded_at);
        create index events_jurisdiction on contracts.mt_events ((data->>'jurisdiction'))
            where type in ('signed', 'moved');
        create view contracts.postings as
            select s.sequence, s.stream, s.shop, s.recorded_at, l.line,
                   l.account / 100 as account, l.account % 100 as movement, coalesce(l.authority, '') as authority,
                   l.day as effective_on, greatest(l.day, s.open_from) as booked_on, l.spread_from, l.spread_to,
                   l.cents / 100.0 as amount
            from contracts.posting_sets s,
                 unnest(s.accounts, s.authorities, s.days, s.starts, s.ends, s.cents)
                     with ordinality as l (account, authority, day, spread_from, spread_to, cents, line);
        create table contracts.book_cells (
            account int not null,
            authority text collate "C" not null,
            shop text collate "C" not null,
            booked_on date not null,
            effective_on date not null,
            recorded_on date not null,
            cents bigint not null,
            primary key (recorded_on, booked_on, account, authority, shop, effective_on))
            with (fillfactor = 70);
        create index book_cells_booked on contracts.book_cells (booked_on, recorded_on);
        create index book_cells_effective on contracts.book_cells (effective_on, recorded_on);
        create table contracts.book_months (
            account int not null,
            authority text collate "C" not null,
            shop text collate "C" not null,
            booked_month date not null,
            effective_month date not null,
            recorded_month date not null,
            cents bigint not null,
            primary key (recorded_month, booked_month, account, authority, shop, effective_month))
            with (fillfactor = 70);
        create table contracts.periods (
            month date primary key,
            sequence bigint not null,
            closed_at timestamptz not null,
            digest text not null);
        """;
}
