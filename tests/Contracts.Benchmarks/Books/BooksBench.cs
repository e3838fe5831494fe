using System.Diagnostics;
using Contracts.Agreements;
using Contracts.Store;
using NodaTime;

namespace Contracts.Benchmarks.Books;

/// <summary>Closes a month of a store at a moment of its simulated clock.</summary>
internal delegate Task CloseMonth(ContractsStore store, YearMonth month, Instant at);

/// <summary>The books beside their floors and peers, on one server, in one run.</summary>
internal sealed class BooksBench(Databases databases, Results results, int runs, string folder, CloseMonth close)
{
    private const int LinesPerContract = 24;
    private const int Questions = 20;

    private static readonly LocalDate First = new(2024, 7, 1);
    private static readonly LocalDate Last = new(2027, 6, 30);

    public async Task RunAsync(int contracts)
    {
        await WarmUpAsync();
        var store = await LoadAsync(contracts);
        await store.ExecuteAsync("vacuum analyze");
        double ours;
        await using (var flat = await FlatPostings.MakeAsync(store, folder))
        {
            ours = await AsOfAsync(store, flat, contracts);
            await CloseAsync(store, flat);
        }

        await databases.DropAsync(store);
        await TenfoldAsync(contracts, ours);
        await BillAsync(contracts);
    }

    /// <summary>The goal of point 3: a load with postings and cube beside COPY of the rows it left.</summary>
    public async Task<BenchStore> LoadAsync(int contracts)
    {
        var file = Path.Combine(folder, "books.jsonl");
        var lines = Portfolio.Write(file, contracts, LinesPerContract, Last);
        var times = new List<double>();
        BenchStore? store = null;
        for (var run = 0; run < runs; run++)
        {
            if (store is not null) { await databases.DropAsync(store); }
            store = await databases.NewAsync();
            await databases.CheckpointAsync();
            var clock = Stopwatch.StartNew();
            var summary = await Databases.LoadFileAsync(store.Store, file);
            times.Add(clock.Elapsed.TotalMilliseconds);
            Console.WriteLine($"load with books: {lines:N0} lines, {summary.Applied:N0} applied, {summary.Refused.Count:N0} refused in {times[^1] / 1000:N1} s");
        }

        File.Delete(file);
        foreach (var table in CopyFloor.Tables) { results.Fact($"load: rows in {table}", await store!.ReadAsync<long>($"select count(*) from contracts.{table}")); }
        using var floor = new CopyFloor(folder);
        foreach (var table in CopyFloor.Tables) { await floor.KeepAsync(store!, table); }
        results.Fact("load: MB of rows", floor.Bytes / 1e6);
        var floors = new List<double>();
        for (var run = 0; run < runs; run++)
        {
            var second = await databases.NewAsync();
            await databases.CheckpointAsync();
            floors.Add(await Median.OfAsync(1, () => floor.WriteAsync(second)));
            await databases.DropAsync(second);
        }

        results.AtMost("bulk load with billing runs, postings and cube", "raw COPY of the rows it left", Median.Of(times), Median.Of(floors), 1.25);
        return store!;
    }

    /// <summary>The goal of point 2: the portfolio as of any day, as known at any moment. Answers our median time.</summary>
    private async Task<double> AsOfAsync(BenchStore store, FlatPostings flat, int contracts)
    {
        results.Fact("postings as flat lines", flat.Lines);
        results.Fact("postings with periods expanded into days (0: left out)", flat.ExpandedLines);
        var (ours, postgres, duck, expanded) = (new List<double>(), new List<double>(), new List<double>(), new List<double>());
        foreach (var (day, known) in Views())
        {
            await CheckAsync(store.Store, flat, day, known);
            ours.Add(await Median.OfAsync(5, () => store.Store.Books.TotalsAsync(LocalDate.MinIsoValue, day, known)));
            postgres.Add(await Median.OfAsync(3, () => flat.PostgresAsync(day, known)));
            duck.Add(await Median.OfAsync(3, () => flat.DuckAsync(day, known)));
            if (flat.ExpandedLines > 0) { expanded.Add(await Median.OfAsync(3, () => flat.DuckExpandedAsync(day, known))); }
        }

        var work = $"portfolio of {contracts:N0} as of any day and moment, median of {Questions} questions";
        var faster = expanded.Count > 0 && expanded.Sum() < duck.Sum() ? expanded : duck;
        var how = ReferenceEquals(faster, duck) ? "periods worked out in SQL" : "periods expanded into days";
        if (expanded.Count > 0) { results.Fact($"DuckDB, {(ReferenceEquals(faster, duck) ? "periods expanded into days" : "periods worked out in SQL")}, ms", Median.Of(ReferenceEquals(faster, duck) ? expanded : duck)); }
        results.Faster(work, $"DuckDB in process, {how}", Median.Of(ours), Median.Of(faster), 10);
        results.Faster(work, "SQL over a flat table with a covering index", Median.Of(ours), Median.Of(postgres), 10);
        results.Faster($"portfolio of {contracts:N0}, all {Questions} questions", $"DuckDB in process, {how}", ours.Sum(), faster.Sum(), 10);
        results.Faster($"portfolio of {contracts:N0}, all {Questions} questions", "SQL over a flat table with a covering index", ours.Sum(), postgres.Sum(), 10);
        results.Fact("as of: our slowest question, ms", ours.Max());
        results.Fact("as of: our median at the end of a day, ms", Median.Of(ours.Where((_, index) => index % 2 == 0)));
        results.Fact("as of: our median inside a day, ms", Median.Of(ours.Where((_, index) => index % 2 == 1)));
        return Median.Of(ours);
    }

    /// <summary>The same days with a tenth of the events: what we take must not hang on how many there are.</summary>
    private async Task TenfoldAsync(int contracts, double whole)
    {
        var file = Path.Combine(folder, "tenth.jsonl");
        Portfolio.Write(file, contracts / 10, LinesPerContract, Last);
        var store = await databases.NewAsync();
        await Databases.LoadFileAsync(store.Store, file);
        File.Delete(file);
        await store.ExecuteAsync("vacuum analyze");
        results.Fact("a tenth: rows in book_cells", await store.ReadAsync<long>("select count(*) from contracts.book_cells"));
        var times = new List<double>();
        foreach (var (day, known) in Views())
        {
            await store.Store.Books.TotalsAsync(LocalDate.MinIsoValue, day, known);
            times.Add(await Median.OfAsync(5, () => store.Store.Books.TotalsAsync(LocalDate.MinIsoValue, day, known)));
        }

        results.AtMost($"portfolio of {contracts:N0} as of any day and moment", "ours with a tenth of the events on the same days", whole, Median.Of(times), 1.2);
        await databases.DropAsync(store);
    }

    /// <summary>The goal of point 4: a month billed for every contract beside COPY of the rows that came of it.</summary>
    private async Task BillAsync(int contracts)
    {
        var file = Path.Combine(folder, "bill.jsonl");
        Portfolio.Write(file, contracts, LinesPerContract, Portfolio.AllSigned);
        var store = await databases.NewAsync();
        await Databases.LoadFileAsync(store.Store, file);
        File.Delete(file);
        var second = await databases.NewAsync();
        using (var before = new CopyFloor(folder))
        {
            foreach (var table in CopyFloor.Tables) { await before.KeepAsync(store, table); }
            await before.WriteAsync(second);
        }

        foreach (var side in (BenchStore[])[store, second]) { await side.ExecuteAsync("vacuum analyze"); }
        var (ours, floors, notes) = (new List<double>(), new List<double>(), 0);
        for (var run = 1; run <= runs; run++)
        {
            var through = Portfolio.AllSigned.PlusDays(1).PlusMonths(run).PlusDays(-1);
            var last = await store.ReadAsync<long>("select max(seq_id) from contracts.mt_events");
            await databases.CheckpointAsync();
            ours.Add(await Median.OfAsync(1, async () => notes = await BillAsync(store.Store, through)));
            using var floor = new CopyFloor(folder);
            await floor.KeepAsync(store, "mt_events", $"seq_id > {last}");
            await floor.KeepAsync(store, "command_keys", $"key = 'bench-{run}'");
            await floor.KeepAsync(store, "posting_sets", $"sequence > {last}");
            await floor.KeepAsync(store, "book_cells", $"recorded_on = date '{Iso(through.PlusDays(1))}'");
            await databases.CheckpointAsync();
            floors.Add(await Median.OfAsync(1, () => floor.WriteAsync(second)));
            Console.WriteLine($"  billed through {Iso(through)}: {notes:N0} notes, {floor.Bytes / 1e6:N1} MB; {ours[^1]:N0} ms against {floors[^1]:N0} ms");
        }

        results.Fact("billing run: notes of the last run", notes);
        results.AtMost($"billing run of a month over {contracts:N0} contracts", "raw COPY of its rows (without the streams' new versions)", Median.Of(ours), Median.Of(floors), 2);
        await databases.DropAsync(store);
        await databases.DropAsync(second);

        async Task<int> BillAsync(ContractsStore open, LocalDate through)
        {
            var key = $"bench-{through.Month - Portfolio.AllSigned.Month}";
            var bill = new Command.Bill(through) { Origin = new CommandOrigin(key, null, null) };
            return await open.Pipeline.BillAsync(bill, Portfolio.BilledAt(through), null, CancellationToken.None) is CommandResult.Applied done
                ? done.Events
                : throw new InvalidOperationException("The billing run was not applied.");
        }
    }

    /// <summary>The goal of point 5: a month closed beside one sum over its postings. The months before are closed first, for order.</summary>
    private async Task CloseAsync(BenchStore store, FlatPostings flat)
    {
        var (times, floors, at) = (new List<double>(), new List<double>(), Instant.FromUtc(2027, 7, 2, 0, 0));
        var measured = Portfolio.AllSigned.ToYearMonth();
        for (var month = First.ToYearMonth(); month < measured.PlusMonths(runs); month = month.PlusMonths(1))
        {
            at += Duration.FromMinutes(1);
            var time = await Median.OfAsync(1, () => close(store.Store, month, at));
            if (month < measured) { continue; }
            var first = month.OnDayOfMonth(1);
            times.Add(time);
            floors.Add(await Median.OfAsync(3, () => flat.PostgresAsync(first.PlusMonths(1).PlusDays(-1), at, first)));
        }

        results.AtMost("month close with its packet and checks", "one GROUP BY account, authority over the month's postings", Median.Of(times), Median.Of(floors), 0);
    }

    private async Task WarmUpAsync()
    {
        var file = Path.Combine(folder, "warm-up-books.jsonl");
        Portfolio.Write(file, 200, LinesPerContract, Last);
        var store = await databases.NewAsync();
        await Databases.LoadFileAsync(store.Store, file);
        foreach (var (day, known) in Views()) { await store.Store.Books.TotalsAsync(LocalDate.MinIsoValue, day, known); }
        await databases.DropAsync(store);
    }

    /// <summary>All three answer the same, or the times mean nothing.</summary>
    private static async Task CheckAsync(ContractsStore store, FlatPostings flat, LocalDate day, Instant known)
    {
        var ours = (await store.Books.TotalsAsync(LocalDate.MinIsoValue, day, known))
            .GroupBy(total => ((int)total.Account, total.Authority)).ToDictionary(group => group.Key, group => group.Sum(total => total.Amount.Cents));
        Same(ours, await flat.PostgresAsync(day, known), "PostgreSQL");
        Same(ours, await flat.DuckAsync(day, known), "DuckDB");
        if (flat.ExpandedLines > 0) { Same(ours, await flat.DuckExpandedAsync(day, known), "DuckDB, expanded"); }

        void Same(Dictionary<(int, string), long> left, Dictionary<(int, string), long> right, string peer)
        {
            foreach (var key in left.Keys.Union(right.Keys))
            {
                if (left.GetValueOrDefault(key) != right.GetValueOrDefault(key))
                {
                    throw new InvalidOperationException(
                        $"{Iso(day)} as known at {known}: account {key} is {left.GetValueOrDefault(key)} with us and {right.GetValueOrDefault(key)} with {peer}.");
                }
            }
        }
    }

    /// <summary>Random days and moments from a fixed seed: every other moment is the end of a day, the rest are inside one.</summary>
    private static IEnumerable<(LocalDate Day, Instant Known)> Views()
    {
        var random = new Random(20260930);
        var days = Period.DaysBetween(First, Last);
        for (var question = 0; question < Questions; question++)
        {
            var day = First.PlusDays(random.Next(30, days));
            var end = First.PlusDays(random.Next(30, days)).PlusDays(1).AtMidnight().InUtc().ToInstant();
            var inside = Duration.FromSeconds(random.Next(1, 86_400));
            yield return (day, question % 2 == 0 ? end - Duration.FromMilliseconds(1) : end - inside);
        }
    }

    private static string Iso(LocalDate day) => NodaTime.Text.LocalDatePattern.Iso.Format(day);
}
