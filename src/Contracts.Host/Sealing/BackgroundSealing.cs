using Contracts.Store;
using Contracts.Store.Seals;
using Npgsql;

namespace Contracts.Host.Sealing;

/// <summary>
/// Seals beside a running host: when 256 events were written since the last time, but not more than twice a second, else once a
/// second. The second also finds what other processes wrote. An alarm is logged when it is new. A failure is logged and tried again; it never stops a writer.
/// </summary>
public sealed partial class BackgroundSealing(ContractsStore store, ISigner? signer, ILogger<BackgroundSealing> log) : BackgroundService
{
    private const long Events = 256;
    private static readonly TimeSpan Longest = TimeSpan.FromSeconds(1);

    /// <summary>A sealing costs nearly the same for many events as for few, and writers wait on the same disk.</summary>
    private static readonly TimeSpan Shortest = TimeSpan.FromMilliseconds(500);

    private readonly SemaphoreSlim enough = new(0, 1);
    private long lastSealed;
    private IReadOnlyList<SealAlarm> told = [];

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        store.Pipeline.OnWritten(Told);
        var sealer = store.SealerWith(signer);
        while (!stoppingToken.IsCancellationRequested)
        {
            try
            {
                await Task.Delay(Shortest, stoppingToken).ConfigureAwait(false);
                await enough.WaitAsync(Longest - Shortest, stoppingToken).ConfigureAwait(false);
                Interlocked.Exchange(ref lastSealed, store.Pipeline.Written);
                var report = await sealer.SealAsync(anchor: false, stoppingToken).ConfigureAwait(false);
                foreach (var alarm in report.Alarms.Except(told)) { LogAlarm(log, SealPrinter.Words(alarm)); }
                told = report.Alarms;
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                return;
            }
            catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or TimeoutException)
            {
                LogFailed(log, fault.Message);
            }
        }
    }

    public override void Dispose()
    {
        enough.Dispose();
        base.Dispose();
    }

    private void Told(long written)
    {
        if (written - Interlocked.Read(ref lastSealed) < Events || enough.CurrentCount > 0) { return; }
        try
        {
            enough.Release();
        }
        catch (Exception late) when (late is SemaphoreFullException or ObjectDisposedException)
        {
            // Somebody else said so at the same moment, or the host is on its way out.
        }
    }

    [LoggerMessage(Level = LogLevel.Error, Message = "The seals: {Alarm}")]
    private static partial void LogAlarm(ILogger log, string alarm);

    [LoggerMessage(Level = LogLevel.Warning, Message = "Sealing failed and is tried again: {Reason}")]
    private static partial void LogFailed(ILogger log, string reason);
}
