using System.Text.Json.Nodes;
using Contracts.Agreements;
using Contracts.Calendars;
using Contracts.DayWork;
using Contracts.History;
using Contracts.Host.Papers;
using Contracts.Host.Tests.Support;
using Contracts.Store;
using Contracts.Store.Seals;
using Contracts.Tests.Support;
using NodaTime;
using Xunit;

namespace Contracts.Host.Tests.Jobs;

/// <summary>A whole invented school year lived day by day with the jobs of every day, against the second fold. The benchmark `year` has the same with 2,000 families.</summary>
public sealed class SchoolYearTests(Server server) : IDisposable
{
    private const int Families = 110;
    private const int Views = 50;

    private readonly string folder = Directory.CreateTempSubdirectory("contracts-year-").FullName;

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task A_school_year_lived_day_by_day_is_the_second_folds_on_fifty_views()
    {
        var year = FamilyYear.Of(Families);
        // The year is no year without these; a change of the generator that loses them would make it say less.
        foreach (var command in (string[])
        [
            "swap", "exchange", "return", "reinstate", "buy", "reverse-payment", "waive", "hold", "release",
            "report-loss", "open-dispute", "close-dispute", "inspect-unit", "finish-repair", "move",
        ])
        {
            Assert.True(year.Counts.GetValueOrDefault(command) > 0, command);
        }

        await using var store = await ContractsStore.OpenAsync(await server.NewDatabaseAsync(), new StoreSettings(Server.Zone, true, PaperPress.Print, server.Keys), Stop);
        var run = new YearRun(store, new FolderSigner(folder), year);
        await run.LiveAsync(Stop);
        Assert.Empty(run.Failed);
        Assert.Empty(run.Refused);
        foreach (var (on, known) in FamilyYear.Questions(Views)) { Assert.Empty(await run.DifferencesAsync(on, known)); }

        // What the last day's check and watch went through held, and the days before had asked for papers.
        var last = FamilyYear.Last.PlusDays(1);
        Assert.Contains("\"faults\": []", (await store.Jobs.FindAsync("check", last, Stop))!.Outcome, StringComparison.Ordinal);
        Assert.Contains("\"breaches\": []", (await store.Jobs.FindAsync("watch", last, Stop))!.Outcome, StringComparison.Ordinal);
        Assert.Equal(3 * 365, (await store.Jobs.ListAsync(10_000, Stop)).Count(job => job.EndedAt is not null) - 2);
        await BilledInTimeAsync(store, last);
        for (var day = new LocalDate(2026, 9, 1); day < last; day = day.PlusDays(13)) { await AskedForAsync(store, day); }
    }

    /// <summary>What a day asked for is what every history says that is read anew, as known just before the day's jobs.</summary>
    private static async Task AskedForAsync(ContractsStore store, LocalDate day)
    {
        var known = day.At(new LocalTime(6, 0)).InZoneLeniently(Server.Zone).ToInstant() - Duration.FromMilliseconds(1);
        var rates = await store.Reader.RatesAsync(known, Stop);
        var wanted = new List<string>();
        await foreach (var history in store.Reader.HistoriesAsync(known, Stop))
        {
            if (AccountFold.At(history, rates, day) is not { } account) { continue; }
            wanted.AddRange(new DayPlan().Of(account, day.PlusDays(-1), BusinessCalendar.Federal).Select(task => $"{task.Kind.Word()} {task.Contract} {task.Amount}"));
        }

        var outcome = JsonNode.Parse((await store.Jobs.FindAsync("notices", day, Stop))!.Outcome!)!;
        Assert.Equal(wanted, outcome["tasks"]!.AsArray().Select(task => $"{(string)task!["kind"]!} {(string)task["contract"]!} {(string?)task["amount"]}"));
    }

    /// <summary>
    /// What falls due is noted by the run of its day, unless something that was recorded later made it fall due; and at the end nothing is left. It is what a run has to do that
    /// remembers which contracts are quiet.
    /// </summary>
    private static async Task BilledInTimeAsync(ContractsStore store, LocalDate last)
    {
        var now = await store.Reader.NowAsync(Stop);
        var rates = await store.Reader.RatesAsync(now, Stop);
        var notes = 0;
        await foreach (var history in store.Reader.HistoriesAsync(now, Stop))
        {
            if (AccountFold.At(history, rates, last) is { } state) { Assert.True(ContractDecider.IsBilled(history, state), history.Contract); }
            foreach (var note in history.Entries.Where(entry => entry.Key.StartsWith("day:billing:", StringComparison.Ordinal)))
            {
                notes++;
                var run = note.At.InZone(Server.Zone).Date;
                Assert.True(
                    note.Event.On == run || history.Facts.Any(fact => fact.At < note.At && fact.At > note.At - Duration.FromDays(1)),
                    $"{history.Contract}: what fell due on {note.Event.On} was noted on {run}");
            }
        }

        Assert.True(notes > 500, $"{notes} notes");
    }
}
