using Contracts.Agreements;
using Contracts.Host.Reconstruct;
using Contracts.Store;
using NodaTime.Text;

namespace Contracts.Host.Jobs;

/// <summary>The billing run of a day.</summary>
internal static class BillingJob
{
    public static async Task<string> RunAsync(JobContext job)
    {
        var total = await job.Store.Reader.CountAsync(job.Stop).ConfigureAwait(false);
        var key = $"day:billing:{LocalDatePattern.Iso.Format(job.Day)}";
        var bill = new Command.Bill(job.Day) { Origin = new CommandOrigin(key, DayJob.Actor, null) };
        var result = await job.Store.Pipeline.BillAsync(bill, job.At, new Looked(job, total), job.Stop).ConfigureAwait(false);
        return result switch
        {
            CommandResult.Refused refused => throw new StoreException($"{refused.Refusal.Slug}: {refused.Refusal.Detail}"),
            CommandResult.Applied done => Json(done.Events),
            _ => Json(0),
        };
    }

    private static string Json(int events) => AccountPrinter.Json(json =>
    {
        json.WriteStartObject();
        json.WriteNumber("events", events);
        json.WriteEndObject();
    });

    private sealed class Looked(JobContext job, long total) : IProgress<long>
    {
        public void Report(long value) => job.Progress.Report((value, total));
    }
}
