using System.Collections.Immutable;
using Contracts.Agreements;
using Contracts.Books;
using Contracts.Books.Depreciation;
using Contracts.Books.Month;
using Contracts.Books.Packet;
using Contracts.Store.Writing;
using NodaTime;
using NodaTime.Text;
using Npgsql;

namespace Contracts.Store.Books;

/// <summary>What became of a close, with the packet where one was made: also when a check in it stood in the way.</summary>
public sealed record CloseResult(CommandResult Outcome, Packet? Packet);

/// <summary>
/// Closes months and makes their packets again. A close is one transaction under the writer lock: it sees everything
/// recorded, nothing can come between, and a crash leaves the month open with nothing posted.
/// </summary>
public sealed class MonthClose
{
    private readonly CommandPipeline pipeline;
    private readonly Writer writer;
    private readonly StoreReader reader;
    private readonly Periods periods;
    private readonly MonthFigures figures;

    internal MonthClose(NpgsqlDataSource source, CommandPipeline pipeline, StoreReader reader, BooksReader books)
    {
        this.pipeline = pipeline;
        this.reader = reader;
        writer = pipeline.Writer;
        periods = new Periods(source);
        figures = new MonthFigures(source, reader, books, periods);
    }

    /// <summary>The closed months in their order.</summary>
    public Task<IReadOnlyList<ClosedMonth>> ClosedAsync(CancellationToken stop = default) => periods.ClosedAsync(stop);

    /// <summary>Why a month cannot be closed whatever its figures are, or null.</summary>
    public async Task<Refusal?> ObstacleAsync(YearMonth month, LocalDate today, CancellationToken stop = default)
    {
        var after = month.OnDayOfMonth(1).PlusMonths(1);
        if (today < after)
        {
            return new Refusal(RefusalCode.MonthNotOver, $"{Text(month)} is not over; it can be closed from {Moments.Text(after)} on.", "month", Moments.Text(after));
        }

        var closed = await periods.ClosedAsync(stop).ConfigureAwait(false);
        YearMonth? last = closed.Count == 0 ? null : closed[^1].Month;
        if (last >= month)
        {
            return new Refusal(
                RefusalCode.MonthAlreadyClosed, $"{Text(month)} is closed, and a closed month is never opened again.", "month", Text(last.Value.PlusMonths(1)));
        }

        return await periods.OpenBeforeAsync(month, last, stop).ConfigureAwait(false) is { } gap
            ? new Refusal(RefusalCode.MonthGap, $"{Text(gap)} has postings and is still open; close it first.", "month", Text(gap))
            : null;
    }

    /// <summary>
    /// Closes a month: bills what fell due by its end, posts its depreciation, checks everything, and records the packet's
    /// digest. The billing run is one of its own and stays when the close is refused.
    /// </summary>
    public async Task<CloseResult> CloseAsync(Command.Close close, Chart chart, string title, Instant? at = null, CancellationToken stop = default)
    {
        var now = at ?? await reader.NowAsync(stop).ConfigureAwait(false);
        if (!await IsAppliedAsync(close.Origin.Key, stop).ConfigureAwait(false))
        {
            if (await ObstacleAsync(close.Month, now.InZone(writer.Settings.Zone).Date, stop).ConfigureAwait(false) is { } obstacle) { return Refused(obstacle); }
            var bill = new Command.Bill(close.Month.OnDayOfMonth(1).PlusMonths(1).PlusDays(-1))
            {
                Origin = close.Origin with { Key = $"{close.Origin.Key}:bill:{Moments.Text(now)}" },
            };
            if (await pipeline.BillAsync(bill, at, null, stop).ConfigureAwait(false) is CommandResult.Refused untimely) { return new CloseResult(untimely, null); }
        }

        var mode = writer.Settings.SimulatedClock ? ClockMode.Simulated : ClockMode.StoresOwn;
        return await pipeline.InTurnAsync(
            () => writer.RunAsync(
                mode, new Needs([close.Origin.Key], [], []), (scope, desk) => CloseAsync(scope, desk, close, chart, title, at, stop), stop),
            stop).ConfigureAwait(false);
    }

    /// <summary>
    /// What a close would check if it ran now, with nothing written. The billing run that a close begins with is not among it: where
    /// something fell due and is not noted yet, the checks of billing say so.
    /// </summary>
    /// <param name="month">An open month.</param>
    /// <param name="stop">To stop.</param>
    public async Task<Packet> RehearseAsync(YearMonth month, CancellationToken stop = default)
    {
        var now = await reader.NowAsync(stop).ConfigureAwait(false);
        var found = await figures.ReadAsync(month, now, long.MaxValue - 1, "Rental programme", PacketMaker.Form, stop).ConfigureAwait(false);
        var lines = DepreciationRun.Lines(found.Totals, found.Portfolio, BookDepreciationPolicy.Default);
        return PacketMaker.Make(found with { Totals = found.Totals.With(Sums(lines)) }, Chart.Standard);
    }

    /// <summary>The packet of a closed month, made again, and whether it is the one of the close to the byte.</summary>
    public async Task<(Packet? Packet, bool IsSame)> MakeAgainAsync(YearMonth month, CancellationToken stop = default)
    {
        var closed = (await periods.ClosedAsync(stop).ConfigureAwait(false)).FirstOrDefault(one => one.Month == month);
        if (closed is null) { return (null, false); }
        var chart = closed.Event.Chart is { } text ? Chart.Parse(text).Chart ?? throw new StoreException("The chart of a closed month cannot be read.") : Chart.Standard;
        var form = (PacketForm)(closed.Event.Form ?? (int)PacketForm.First);
        var made = await figures.ReadAsync(month, closed.ClosedAt, closed.Event.ThroughSequence, closed.Event.Title, form, stop).ConfigureAwait(false);
        var packet = PacketMaker.Make(made, chart);
        return (packet, PacketJson.Digest(packet) == closed.Event.Digest);
    }

    private async Task<CloseResult> CloseAsync(
        WriteScope scope, BatchDecider desk, Command.Close close, Chart chart, string title, Instant? at, CancellationToken stop)
    {
        var (month, origin) = (close.Month, close.Origin);
        if (scope.Applied.TryGetValue(origin.Key, out var already))
        {
            return new CloseResult(already, (await MakeAgainAsync(month, stop).ConfigureAwait(false)).Packet);
        }

        // The clock may have moved on while the billing run was under way.
        var wanted = at is { } given && given < scope.Clock.Last ? scope.Clock.Last : at;
        if (desk.Moment(wanted, out var now) is { } untimely) { return Refused(untimely); }
        if (await ObstacleAsync(month, desk.ContextAt(now).RecordingDate, stop).ConfigureAwait(false) is { } obstacle) { return Refused(obstacle); }

        // The depreciation is the last event the packet counts; the close itself comes after it.
        var sequence = scope.Clock.NextSequence;
        var found = await figures.ReadAsync(month, now, sequence, title, PacketMaker.Form, stop).ConfigureAwait(false);
        var lines = DepreciationRun.Lines(found.Totals, found.Portfolio, BookDepreciationPolicy.Default);
        found = found with { Totals = found.Totals.With(Sums(lines)) };
        var packet = PacketMaker.Make(found, chart);
        if (packet.Checks.FirstOrDefault(check => !check.Passed) is { } failed)
        {
            return Refused(new Refusal(RefusalCode.CloseCheckFailed, $"{failed.Name}: {failed.Detail}.", "month"), packet);
        }

        var run = new DepreciationPosted(
            Text(month), Total(lines, BookAccount.FleetDepreciation, Movement.Depreciated),
            Total(lines, BookAccount.AccumulatedDepreciation, Movement.Disposed), found.Portfolio.Fleet(PropertyClass.ThreeYear).Count);
        desk.Findings.Add(BookStreams.Periods, null, run, now, origin, null);
        if (lines.Length > 0)
        {
            desk.Findings.Sets.Add(new PostingSet(
                sequence, BookStreams.Periods, PostingSet.MainShop, now, scope.Clock.OpenFrom, found.Totals.Last, lines));
        }

        var digest = PacketJson.Digest(packet);
        var closed = new PeriodClosed(Text(month), sequence, digest, title, chart.Text, (int)PacketMaker.Form);
        var item = desk.Findings.Add(BookStreams.Periods, null, closed, now, origin, null);
        await scope.ClosePeriodAsync(month.OnDayOfMonth(1), item.Sequence, now, digest, stop).ConfigureAwait(false);
        desk.Stamp(new NewKey(origin.Key, null, now, 2));
        return new CloseResult(new CommandResult.Applied(now, 2), packet);
    }

    private async Task<bool> IsAppliedAsync(string key, CancellationToken stop)
    {
        await using var command = writer.Source.CreateCommand("select 1 from contracts.command_keys where key = $1");
        command.Parameters.Add(new NpgsqlParameter<string> { TypedValue = key });
        return await command.ExecuteScalarAsync(stop).ConfigureAwait(false) is not null;
    }

    private static CloseResult Refused(Refusal refusal, Packet? packet = null) => new(new CommandResult.Refused(refusal), packet);

    private static IEnumerable<AccountTotal> Sums(ImmutableArray<BookLine> lines) =>
        lines.GroupBy(line => (line.Account, line.Movement))
            .Select(group => new AccountTotal(group.Key.Account, group.Key.Movement, "", group.Aggregate(Money.Zero, (sum, line) => sum + line.Amount)));

    private static Money Total(ImmutableArray<BookLine> lines, BookAccount account, Movement movement) =>
        lines.Where(line => line.Account == account && line.Movement == movement).Aggregate(Money.Zero, (sum, line) => sum + line.Amount);

    private static string Text(YearMonth month) => YearMonthPattern.Iso.Format(month);
}
