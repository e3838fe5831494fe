using System.Diagnostics;

namespace Contracts.Host.Papers;

/// <summary>Prints HTML as PDF with a Chromium of the machine. The PDF is for printers and mail; nothing is proved by it.</summary>
internal sealed class Chromium
{
    /// <summary>The path of a Chromium, where it is not on the path.</summary>
    public const string Variable = "CONTRACTS_CHROMIUM";

    private static readonly string[] Names = ["chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome.exe"];
    private static readonly TimeSpan Longest = TimeSpan.FromMinutes(2);

    private readonly string program;

    private Chromium(string program) => this.program = program;

    /// <summary>A Chromium of the machine.</summary>
    /// <exception cref="IOException">There is none; it says how to get one.</exception>
    public static Chromium Find()
    {
        if (Environment.GetEnvironmentVariable(Variable) is { Length: > 0 } named)
        {
            return File.Exists(named) ? new Chromium(named) : throw new FileNotFoundException($"{Variable} names no file: {named}.");
        }

        foreach (var folder in (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator))
        {
            foreach (var name in Names)
            {
                if (File.Exists(Path.Combine(folder, name))) { return new Chromium(Path.Combine(folder, name)); }
            }
        }

        throw new FileNotFoundException(
            "A PDF needs a Chromium, and none was found. Install one (on Debian or Ubuntu: apt-get install chromium), or name it in "
            + $"{Variable}. Nothing was issued or written; without --pdf the paper comes as HTML, which any browser prints.");
    }

    /// <summary>Prints a page under a profile of its own, which is gone afterwards.</summary>
    public async Task PrintAsync(byte[] html, string pdf, CancellationToken stop)
    {
        var folder = Directory.CreateTempSubdirectory("contracts-print-").FullName;
        try
        {
            var (page, made) = (Path.Combine(folder, "paper.html"), Path.Combine(folder, "paper.pdf"));
            await File.WriteAllBytesAsync(page, html, stop).ConfigureAwait(false);
            string[] arguments =
            [
                "--headless", "--disable-gpu", "--no-first-run", "--disable-extensions", "--disable-background-networking",
                $"--user-data-dir={Path.Combine(folder, "profile")}", "--no-pdf-header-footer", $"--print-to-pdf={made}", new Uri(page).AbsoluteUri,
            ];
            // The sandbox cannot be set up by root; the page has no script and was made here.
            if (!OperatingSystem.IsWindows() && Environment.IsPrivilegedProcess) { arguments = ["--no-sandbox", .. arguments]; }
            var words = await RunAsync(arguments, stop).ConfigureAwait(false);
            if (!File.Exists(made)) { throw new IOException($"{program} printed nothing: {words.Trim()}"); }
            File.Move(made, pdf, overwrite: true);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private async Task<string> RunAsync(string[] arguments, CancellationToken stop)
    {
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(stop);
        limit.CancelAfter(Longest);
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardError = true, RedirectStandardOutput = true })
            ?? throw new IOException($"{program} did not start.");
        try
        {
            var (output, error) = (process.StandardOutput.ReadToEndAsync(limit.Token), process.StandardError.ReadToEndAsync(limit.Token));
            await process.WaitForExitAsync(limit.Token).ConfigureAwait(false);
            return $"{await output.ConfigureAwait(false)} {await error.ConfigureAwait(false)}";
        }
        catch (OperationCanceledException) when (!stop.IsCancellationRequested)
        {
            throw new TimeoutException($"{program} took longer than {Longest.TotalMinutes:0} minutes to print.");
        }
        finally
        {
            if (!process.HasExited) { process.Kill(entireProcessTree: true); }
        }
    }
}
