using System.Text.Json;
using Contracts.Agreements;
using Contracts.Calendars;
using Contracts.DayWork;
using Contracts.History;
using Contracts.Host.Reconstruct;
using Contracts.Store;
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
            var all = job.Store.Reader.MapHistoriesAsync(
                now, history => AccountFold.At(history, rates, job.Day) is { } account ? plan.Of(account, since, BusinessCalendar.Federal) : [], job.Stop);
            await foreach (var some in all.ConfigureAwait(false))
            {
                tasks.AddRange(some);
                job.Progress.Report((++looked, total));
            }
        }

        var refused = new List<(DayTask Task, Refusal Refusal)>();
        foreach (var task in tasks.Where(task => task.Paper is not null))
        {
            if (await MakeAsync(job, task).ConfigureAwait(false) is { } refusal) { refused.Add((task, refusal)); }
        }

        return AccountPrinter.Json(json => Write(json, tasks, refused));
    }

    private static async Task<Refusal?> MakeAsync(JobContext job, DayTask task)
    {
        var issue = new Command.OnContract(task.Contract, job.Day, new ContractCommand.Issue(task.Paper!.Value, null))
        {
            Origin = new CommandOrigin(task.Key, DayJob.Actor, null),
        };
        var result = job.At is { } at
            ? (await job.Store.Pipeline.ApplyAsync([new CommandRequest(issue, at)], job.Stop).ConfigureAwait(false))[0]
            : await job.Store.Pipeline.IssueAsync(issue, job.Stop).ConfigureAwait(false);
        return (result as CommandResult.Refused)?.Refusal;
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
