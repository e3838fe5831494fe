using Contracts.Disclosures;
using Contracts.History;
using Contracts.Host.Bank;
using Contracts.Host.Disputes;
using Contracts.Host.Fleet;
using Contracts.Host.Households;
using Contracts.Host.Jobs;
using Contracts.Host.Reconstruct;
using Contracts.Host.Terminal;
using Contracts.Store;
using Contracts.Store.Bank;
using Contracts.Store.Jobs;
using NodaTime;
using Spectre.Console;

namespace Contracts.Host.Story;

/// <summary>
/// The second half of the demo: what a shop does on the days after the invented year. It reads the bank's file, runs the jobs of a day, answers a dispute and follows one
/// instrument; what it records has keys, so that a second telling into the same database records nothing twice.
/// </summary>
internal sealed class AfterTheYear(Session session)
{
    private const string Statement = "fernhollow-2027-06-15.camt053.xml";
    private const string Lines = "after-the-year.jsonl";
    private const string Unit = "LT-0901";
    private const string Order = "C-1103";
    private const string Household = "H-301";
    private static readonly LocalDate Morning = new(2027, 6, 16);
    private static readonly LocalDate End = new(2027, 6, 30);

    /// <summary>Lives the days, and tells each when it is over.</summary>
    public async Task TellAsync(CancellationToken stop)
    {
        await TellBankAsync(await ReadBankFileAsync(stop).ConfigureAwait(false), stop).ConfigureAwait(false);
        TellJobs(await RunJobsAsync(stop).ConfigureAwait(false));
        await DemoCommand.LoadAsync(session.Store, Lines, stop).ConfigureAwait(false);
        await DisputeAsync(stop).ConfigureAwait(false);
        await UnitAsync(stop).ConfigureAwait(false);
        await OrderAsync(stop).ConfigureAwait(false);
        await FamilyAsync(stop).ConfigureAwait(false);
    }

    /// <summary>Lives the days without a word, for a host whose pages show them.</summary>
    public async Task LiveAsync(CancellationToken stop)
    {
        await ReadBankFileAsync(stop).ConfigureAwait(false);
        await RunJobsAsync(stop).ConfigureAwait(false);
        await DemoCommand.LoadAsync(session.Store, Lines, stop).ConfigureAwait(false);
    }

    private async Task<MoneyFileOutcome> ReadBankFileAsync(CancellationToken stop)
    {
        var folder = Directory.CreateTempSubdirectory("contracts-demo-");
        try
        {
            var path = Path.Combine(folder.FullName, Statement);
            var file = File.Create(path);
            await using (file.ConfigureAwait(false))
            {
                await using var kept = DemoCommand.Open(Statement);
                await kept.CopyToAsync(file, stop).ConfigureAwait(false);
            }

            return await MoneyFiles.TakeAsync(session.Store, new MoneyFile(path, Statement, null), "office", null, stop).ConfigureAwait(false);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private async Task TellBankAsync(MoneyFileOutcome outcome, CancellationToken stop)
    {
        Chapters.Begin("The bank's file of 15 June: read, held against its own balances, matched.", "contracts bank show --all");
        var count = outcome.Count;
        Chapters.Say(
            $"{Statement}: {count.Matched} lines were clear and are recorded, {count.Proposed} may be one of several contracts', "
            + $"{count.Unmatched} name nothing that is known" + (count.Already > 0 ? $"; {count.Already} were known already." : "."));
        var waiting = (await session.Store.Bank.WaitedAsync(Instant.MaxValue, stop).ConfigureAwait(false)).Where(one => one.Waits).ToList();
        Chapters.Say("Two of those that wait for a person:");
        var shown = new[] { EntryStanding.Proposed, EntryStanding.Unmatched }.SelectMany(standing => waiting.Where(one => one.Standing == standing).Take(1));
        BankPrinter.Print([.. shown], OutputFormat.Table);
    }

    private async Task<List<JobRun>> RunJobsAsync(CancellationToken stop)
    {
        var runs = new List<JobRun>();
        var at = Morning.At(new LocalTime(6, 0)).InZoneLeniently(Session.Zone).ToInstant();
        await new DayRunner(session.Store, session.Signer).RunAsync(
            DayJob.All, Morning, at,
            (job, run, _, fault) =>
            {
                if (run is not null) { runs.Add(run); }
                if (fault is not null) { Chapters.Say($"{job.Name}: {fault}"); }
            },
            stop).ConfigureAwait(false);
        return runs;
    }

    private static void TellJobs(List<JobRun> runs)
    {
        Chapters.Begin("The next morning at six: the jobs of the day.", $"contracts jobs show notices {Morning:uuuu-MM-dd}");
        var table = AccountPrinter.Plain().AddColumns("job", "what it did", "what came of it");
        foreach (var run in runs) { table.AddRow(run.Job, Markup.Escape(DayJob.All.First(job => job.Name == run.Job).Says), Markup.Escape(JobsPrinter.Words(run))); }
        AnsiConsole.Write(table);
        if (runs.Find(run => run.Job == "notices") is { } notices) { JobsPrinter.PrintTasks(notices); }
    }

    private async Task DisputeAsync(CancellationToken stop)
    {
        Chapters.Begin(
            "A dispute: what the statement of 7 December said, what is so, and the answer.", $"contracts disputes --contract {SchoolYear.Family} --all --on {End:uuuu-MM-dd}");
        var known = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        DisputesPrinter.Print(await DisputesLook.ReadAsync(session.Store, End, known, SchoolYear.Family, all: true, stop).ConfigureAwait(false), OutputFormat.Table);
        Chapters.Say("A dispute moves no figure. The answer is a paper of its own, with both readings in it: contracts papers C-1042.");
    }

    private async Task UnitAsync(CancellationToken stop)
    {
        Chapters.Begin("One trumpet: bought, inspected, rented, damaged, repaired, rented again, and what it earned.", $"contracts unit {Unit} --on {End:uuuu-MM-dd}");
        var known = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        if (await session.Store.Units.FindAsync(Unit, End, known, stop).ConfigureAwait(false) is not { } life) { return; }
        UnitPrinter.Print(life, known, OutputFormat.Table);
        Chapters.Say("What the family was told of the damage stands on its contract: contracts history C-1101.");
    }

    private async Task OrderAsync(CancellationToken stop)
    {
        var (day, come) = (new LocalDate(2027, 6, 24), new LocalDate(2027, 6, 25));
        Chapters.Begin(
            "An order whose rental begins when the cello comes: expected on the 22nd, told on the 24th, put right on the 28th.",
            $"contracts account {Order} --on {day:uuuu-MM-dd} --known {day:uuuu-MM-dd}");
        var known = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        var rates = await session.Store.Reader.RatesAsync(known, stop).ConfigureAwait(false);
        if (await session.Store.Reader.HistoryAsync(Order, known, stop).ConfigureAwait(false) is not { } history) { return; }
        var then = Instant.FromUtc(2027, 6, 25, 3, 59);
        Account Of(LocalDate on, Instant asKnown) => Account.Of(AccountFold.At(history.AsKnownAt(asKnown), rates, on)!, asKnown);
        SchoolYear.PrintSideBySide(
            ($"{day.PlusDays(-2):MM-dd}", Of(day.PlusDays(-2), known)), ($"{day:MM-dd} as known then", Of(day, then)), ($"{day:MM-dd} as known now", Of(day, known)),
            ($"{come:MM-dd}", Of(come, known)));
        Chapters.Say("What was paid before waits, and all of it goes back if the order is cancelled before the cello comes.");
    }

    private async Task FamilyAsync(CancellationToken stop)
    {
        var day = End.PlusDays(-2);
        Chapters.Begin("A family with two instruments: all it owes together, and one payment for both.", $"contracts household statement {Household} --through {End:uuuu-MM-dd}");
        var known = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
        var (look, _) = await HouseholdLook.ReadAsync(session.Store, new HouseholdQuestion(Household, null, End, new KnownAt(known), null), stop).ConfigureAwait(false);
        if (look is null) { return; }
        HouseholdStatementCommand.Print(look, known, OutputFormat.Table);
        Chapters.Say($"On {day:uuuu-MM-dd} one card payment of 75.16 was dealt out: what was due first, then the next installment.");
    }
}
