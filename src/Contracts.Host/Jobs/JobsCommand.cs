using System.CommandLine;
using Contracts.Host.Terminal;
using Contracts.Store.Jobs;
using NodaTime;

namespace Contracts.Host.Jobs;

/// <summary>`contracts jobs`: the jobs of the day, what they did, and running them by hand.</summary>
public static class JobsCommand
{
    private const int Usual = 40;

    public static Command Build()
    {
        var most = new Option<int>("--most") { Description = "How many runs at most, newest day first.", DefaultValueFactory = _ => Usual };
        most.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<int>() is < 1 or > 10_000) { result.AddError("--most is 1 to 10000."); }
        });
        var command = new Command("jobs", "What the day's jobs did: billing, notices, seals, check, watch.") { most };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                JobsPrinter.Print(await session.Store.Jobs.ListAsync(parse.GetValue(most), stop).ConfigureAwait(false), session.Format);
                return ExitCodes.Done;
            },
            stop));
        command.Add(Show());
        command.Add(Run());
        return command;
    }

    private static Command Show()
    {
        var (job, day) = (Name(), new Argument<string>("day") { Description = "The day, such as 2026-12-05." });
        day.Validators.Add(result =>
        {
            if (CommonOptions.ParseDay(result.GetValueOrDefault<string>() ?? "") is null) { result.AddError("The day is a date such as 2026-12-05."); }
        });
        var command = new Command("show", "What came of one run: the list of whom to remind and which papers were made, or what a check found.") { job, day };
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, simulatedClock: false,
            async session =>
            {
                var (name, on) = (parse.GetRequiredValue(job), CommonOptions.ParseDay(parse.GetRequiredValue(day))!.Value);
                if (await session.Store.Jobs.FindAsync(name, on, stop).ConfigureAwait(false) is not { } run)
                {
                    return session.Refuse(new Agreements.Refusal(Agreements.RefusalCode.FieldInvalid, $"The job {name} did not run for {on:uuuu-MM-dd}.", "day"));
                }

                JobsPrinter.Show(run, session.Format);
                return ExitCodes.Done;
            },
            stop));
        return command;
    }

    private static Command Run()
    {
        var jobs = new Argument<string[]>("job") { Description = "Which; all when left out.", Arity = ArgumentArity.ZeroOrMore };
        jobs.Validators.Add(result =>
        {
            foreach (var token in result.Tokens.Where(token => Find(token.Value) is null)) { result.AddError(NoSuch(token.Value)); }
        });
        jobs.CompletionSources.Add([.. DayJob.All.Select(job => job.Name)]);
        var through = CommonOptions.On("--through");
        through.Description = "With --simulated-clock: every day through this one, each at six in the morning of the shop.";
        var command = new Command("run", "Run the jobs of today that are not done yet; exit 3 when one fails.") { jobs, through, CommonOptions.SimulatedClock };
        command.Validators.Add(result =>
        {
            if (result.GetValue(through) is not null != result.GetValue(CommonOptions.SimulatedClock)) { result.AddError("--through and --simulated-clock go together."); }
        });
        command.SetAction((parse, stop) => Session.RunAsync(
            parse, parse.GetValue(CommonOptions.SimulatedClock),
            async session =>
            {
                var chosen = parse.GetValue(jobs) is { Length: > 0 } names ? DayJob.All.Where(job => names.Contains(job.Name)).ToList() : DayJob.All;
                var now = await session.Store.Reader.NowAsync(stop).ConfigureAwait(false);
                var today = now.InZone(Session.Zone).Date;
                var runner = new DayRunner(session.Store, session.Signer, parse.GetValue(through) is null ? null : DayMemory.Of(session.Store));
                if (parse.GetValue(through) is not { } last) { return await OneDayAsync(session, runner, chosen, today, stop).ConfigureAwait(false); }
                var failed = 0;
                for (var day = today.PlusDays(1); day <= last; day = day.PlusDays(1))
                {
                    var at = day.At(new LocalTime(6, 0)).InZoneLeniently(Session.Zone).ToInstant();
                    failed += await runner.RunAsync(chosen, day, at, TellFailure, stop).ConfigureAwait(false);
                    if (day.Day == 1) { await Console.Error.WriteLineAsync($"contracts: {day:uuuu-MM-dd}").ConfigureAwait(false); }
                }

                JobsPrinter.Print(await session.Store.Jobs.ListAsync(chosen.Count, stop).ConfigureAwait(false), session.Format);
                return failed == 0 ? ExitCodes.Done : ExitCodes.Failed;
            },
            stop));
        return command;
    }

    private static async Task<int> OneDayAsync(Session session, DayRunner runner, IReadOnlyList<DayJob> chosen, LocalDate today, CancellationToken stop)
    {
        var runs = new List<JobRun>();
        var failed = await runner.RunAsync(
            chosen, today, null,
            (job, run, now, fault) =>
            {
                if (run is not null) { runs.Add(run); }
                TellFailure(job, run, now, fault);
            },
            stop).ConfigureAwait(false);
        JobsPrinter.Print(runs, session.Format);
        return failed == 0 ? ExitCodes.Done : ExitCodes.Failed;
    }

    private static void TellFailure(DayJob job, JobRun? run, bool now, string? fault)
    {
        if (fault is not null) { Console.Error.WriteLine($"contracts: {job.Name}: {fault}"); }
    }

    private static Argument<string> Name()
    {
        var name = new Argument<string>("job") { Description = $"One of {string.Join(", ", DayJob.All.Select(job => job.Name))}." };
        name.CompletionSources.Add([.. DayJob.All.Select(job => job.Name)]);
        name.Validators.Add(result =>
        {
            if (Find(result.GetValueOrDefault<string>() ?? "") is null) { result.AddError(NoSuch(result.GetValueOrDefault<string>() ?? "")); }
        });
        return name;
    }

    private static DayJob? Find(string name) => DayJob.All.FirstOrDefault(job => job.Name == name);

    private static string NoSuch(string name) => $"There is no job '{name}'; there are {string.Join(", ", DayJob.All.Select(job => job.Name))}.";
}
