using System.Collections.Concurrent;
using System.Diagnostics;
using System.Text.Json;
using Contracts.Host.Terminal;
using Contracts.Kept;

namespace Contracts.Host.Tests.Support;

/// <summary>
/// The executable in processes that are kept from one command to the next: most of a command's time is its start, and the
/// tests give hundreds of them. The hook beside <see cref="KeptCommand"/> is what such a process runs.
/// </summary>
internal static class KeptExecutable
{
    private static readonly ConcurrentBag<Process> Idle = [];

    public static async Task<(int Exit, string Output, string Error)> RunAsync(
        string[] arguments, string input, IEnumerable<(string Name, string Value)> environment)
    {
        var folder = Directory.CreateTempSubdirectory("contracts-command-").FullName;
        try
        {
            await File.WriteAllTextAsync(Path.Combine(folder, "in"), input);
            var given = environment.GroupBy(one => one.Name).ToDictionary(group => group.Key, group => group.Last().Value);
            var process = Idle.TryTake(out var idle) ? idle : Start();
            await process.StandardInput.WriteLineAsync(JsonSerializer.Serialize(new KeptCommand(arguments, given, folder)));
            await process.StandardInput.FlushAsync();
            if (await process.StandardOutput.ReadLineAsync() is not { } exit)
            {
                // It died of this command: what it said of that went where the command's errors go, or was said before it took the first.
                var said = Path.Combine(folder, "error");
                var last = File.Exists(said) ? await File.ReadAllTextAsync(said) : await process.StandardError.ReadToEndAsync();
                throw new InvalidOperationException($"contracts {string.Join(' ', arguments)}: {last}");
            }

            Idle.Add(process);
            return (
                int.Parse(exit, System.Globalization.CultureInfo.InvariantCulture),
                await File.ReadAllTextAsync(Path.Combine(folder, "out")), await File.ReadAllTextAsync(Path.Combine(folder, "error")));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>It ends when this process does, since nobody asks any more then.</summary>
    private static Process Start()
    {
        var start = new ProcessStartInfo("dotnet", [typeof(ExitCodes).Assembly.Location])
        {
            RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true,
        };
        start.Environment["DOTNET_STARTUP_HOOKS"] = typeof(KeptCommand).Assembly.Location;
        return Process.Start(start)!;
    }
}
