using Contracts.Store;
using Npgsql;

namespace Contracts.Host.Serving.Webhooks;

/// <summary>Tells webhooks beside a running host: at once after each commit of its own, and once a second for what others wrote and what is tried again.</summary>
public sealed partial class BackgroundWebhooks(ContractsStore store, TimeProvider clock, ILogger<BackgroundWebhooks> log) : BackgroundService
{
    private static readonly TimeSpan Longest = TimeSpan.FromSeconds(1);

    private readonly SemaphoreSlim written = new(0, 1);
    private readonly WebhookSender sender = new(store, clock, log, WebhookSender.UsualPatience);

    protected override async Task ExecuteAsync(CancellationToken stoppingToken)
    {
        store.Pipeline.OnWritten(Told);
        while (!stoppingToken.IsCancellationRequested)
        {
            try
            {
                if (!await sender.RoundAsync(stoppingToken).ConfigureAwait(false)) { await written.WaitAsync(Longest, stoppingToken).ConfigureAwait(false); }
            }
            catch (OperationCanceledException) when (stoppingToken.IsCancellationRequested)
            {
                return;
            }
            catch (Exception fault) when (fault is StoreException or NpgsqlException or IOException or TimeoutException)
            {
                LogFailed(log, fault.Message);
                await Task.Delay(Longest, stoppingToken).ConfigureAwait(ConfigureAwaitOptions.SuppressThrowing);
            }
        }
    }

    public override void Dispose()
    {
        written.Dispose();
        sender.Dispose();
        base.Dispose();
    }

    private void Told(long count)
    {
        if (written.CurrentCount > 0) { return; }
        try
        {
            written.Release();
        }
        catch (Exception late) when (late is SemaphoreFullException or ObjectDisposedException)
        {
            // Somebody else said so at the same moment, or the host is on its way out.
        }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "Webhooks could not be told and are tried again: {Reason}")]
    private static partial void LogFailed(ILogger log, string reason);
}
