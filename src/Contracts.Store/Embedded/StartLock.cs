using System.Diagnostics;

namespace Contracts.Store.Embedded;

/// <summary>Lets one command at a time look at, start or stop a server.</summary>
internal static class StartLock
{
    // Long enough for another command to fetch the binaries over a slow line.
    private static readonly TimeSpan Patience = TimeSpan.FromMinutes(5);

    public static async Task<FileStream> TakeAsync(string file, Action<string> say, CancellationToken cancellation)
    {
        var waited = Stopwatch.StartNew();
        var told = false;
        while (true)
        {
            try
            {
                // The system frees the lock when the holder dies, however it dies.
                return new FileStream(file, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
            }
            catch (IOException cause) when (cause is not (DirectoryNotFoundException or FileNotFoundException or PathTooLongException))
            {
                if (waited.Elapsed > Patience)
                {
                    throw new EmbeddedServerException($"Another command has held {file} for {Patience.TotalMinutes:0} minutes.", cause);
                }
            }
            if (!told && waited.Elapsed > TimeSpan.FromSeconds(2))
            {
                say("Another command is starting or stopping the database; waiting for it.");
                told = true;
            }
            await Task.Delay(25, cancellation).ConfigureAwait(false);
        }
    }
}
