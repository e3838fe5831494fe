using System.Collections.Immutable;
using System.Text.Json;
using Contracts.Agreements;
using Contracts.Calendars;
using Contracts.DayWork;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Store;
using NodaTime;
using NodaTime.Text;

namespace Contracts.Host.Jobs;

/// <summary>
/// What a day asks for: the papers are made and kept, the rest is listed. Nothing is sent to anybody: a person looks at the list and at the papers first.
/// </summary>
internal static class NoticesJob
{
    public static async Task<string> RunAsync(JobContext job)
    {
        var now = await job.Store.Reader.NowAsync(job.Stop).ConfigureAwait(false);
        var rates = await job.Store.Reader.RatesAsync(now, job.Stop).ConfigureAwait(false);
        var total = await job.Store.Reader.CountAsync(job.Stop).ConfigureAwait(false);
        var plan = new DayPlan();
        var since = await job.Store.Jobs.LastDoneAsync("notices", job.Day, job.Stop).ConfigureAwait(false) ?? job.Day.PlusDays(-1);
        var (tasks, looked) = (new List<DayTask>(), 0L);
        if (BusinessCalendar.Federal.IsBusinessDay(job.Day))
        {
            await foreach (var some in MapAsync(job, now, TasksOf).ConfigureAwait(false))
            {
                tasks.AddRange(some);
                job.Progress.Report((++looked, total));
            }
        }

        var refused = await MakeAsync(job, [.. tasks.Where(task => task.Paper is not null)]).ConfigureAwait(false);
        return AccountPrinter.Json(json => Write(json, tasks, refused));

        ImmutableArray<DayTask> TasksOf(ContractHistory history)
        {
            if (job.Memory?.IsQuiet(history, job.Day) == true || AccountFold.At(history, rates, job.Day) is not { } account) { return []; }
            var asked = plan.Of(account, since, BusinessCalendar.Federal);
            if (asked.IsEmpty) { job.Memory?.Quieten(history, plan.QuietThrough(account)); }
            return asked;
        }
    }

    /// <summary>Every contract known now, from memory where days are run one after the other.</summary>
    private static async IAsyncEnumerable<T> MapAsync<T>(JobContext job, Instant now, Func<ContractHistory, T> map)
    {
        if (job.Memory is not { } memory)
        {
            await foreach (var one in job.Store.Reader.MapHistoriesAsync(now, map, job.Stop).ConfigureAwait(false)) { yield return one; }
            yield break;
        }

        var all = await memory.Histories.KnownAtAsync(now, job.Stop).ConfigureAwait(false);
        foreach (var one in all.AsParallel().AsOrdered().WithCancellation(job.Stop).Select(map)) { yield return one; }
    }

    /// <summary>Makes the papers; by a simulated clock all of a day in one transaction, else one by one, since each is recorded when it is made.</summary>
    private static async Task<List<(DayTask Task, Refusal Refusal)>> MakeAsync(JobContext job, IReadOnlyList<DayTask> tasks)
    {
        var issues = tasks.Select(task => new Command.OnContract(task.Contract, job.Day, new ContractCommand.Issue(task.Paper!.Value, null))
        {
            Origin = new CommandOrigin(task.Key, DayJob.Actor, null),
        }).ToList();
        var results = new List<CommandResult>();
        if (job.At is { } at) { results.AddRange(await job.Store.Pipeline.ApplyAsync([.. issues.Select(issue => new CommandRequest(issue, at))], job.Stop).ConfigureAwait(false)); }
        else
        {
            foreach (var issue in issues) { results.Add(await job.Store.Pipeline.IssueAsync(issue, job.Stop).ConfigureAwait(false)); }
        }

        return [.. tasks.Zip(results).Where(pair => pair.Second is CommandResult.Refused).Select(pair => (pair.First, ((CommandResult.Refused)pair.Second).Refusal))];
    }

    private static void Write(Utf8JsonWriter json, List<DayTask> tasks, List<(DayTask Task, Refusal Refusal)> refused)
    {
        json.WriteStartObject();
        json.WriteStartArray("tasks");
        foreach (var task in tasks)
        {
            json.WriteStartObject();
            json.WriteString("kind", task.Kind.Word());
            json.WriteString("contract", task.Contract);
            json.WriteString("on", LocalDatePattern.Iso.Format(task.On));
            if (task.About is { } about) { json.WriteString("about", about); }
            if (task.Amount is { } amount) { json.WriteString("amount", amount.ToString()); }
            var why = refused.FirstOrDefault(one => one.Task == task).Refusal;
            if (task.Paper is not null && why is null) { json.WriteString("paper", task.Key); }
            if (why is not null) { json.WriteString("refused", $"{why.Slug}: {why.Detail}"); }
            json.WriteEndObject();
        }

        json.WriteEndArray();
        json.WriteEndObject();
    }
}
