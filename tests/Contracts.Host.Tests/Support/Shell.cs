using System.Diagnostics;
using Contracts.Host.Terminal;
using Contracts.Store.Seals;
using Xunit;

namespace Contracts.Host.Tests.Support;

/// <summary>Programs as a shell runs them: their output, their words and their exit code.</summary>
internal static class Shell
{
    /// <summary>Where the executable keeps its keys while tests run it: never among the user's own.</summary>
    public static readonly string Signers = Path.Combine(Path.GetTempPath(), $"contracts-signers-{Guid.NewGuid():N}");

    /// <summary>The executable itself on a database, as the role of everyday work.</summary>
    public static Task<(int Exit, string Output, string Error)> ContractsAsync(string database, params string[] arguments) =>
        ContractsAsync(database, [], arguments);

    /// <summary>The executable with exactly this connection string.</summary>
    public static Task<(int Exit, string Output, string Error)> ContractsWithAsync(string connection, params string[] arguments) =>
        KeptExecutable.RunAsync(arguments, "", Around(connection));

    /// <summary>The executable with more in its environment.</summary>
    public static async Task<(int Exit, string Output, string Error)> ContractsAsync(
        string database, (string Name, string Value)[] environment, params string[] arguments)
    {
        var connection = await Server.AsAppAsync(database);
        return await KeptExecutable.RunAsync(arguments, "", [.. Around(connection), .. environment]);
    }

    /// <summary>
    /// A program of the system. Where it is missing the test is skipped and says which package brings it; on a build server
    /// it fails instead, so that nothing passes unlooked at.
    /// </summary>
    public static async Task<(int Exit, string Output, string Error)> SystemAsync(string program, string package, params string[] arguments)
    {
        var folders = (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator);
        if (!folders.Any(folder => File.Exists(Path.Combine(folder, program))))
        {
            var missing = $"{program} is missing; the package {package} brings it.";
            if (Environment.GetEnvironmentVariable("CI") == "true") { Assert.Fail(missing); }
            Assert.Skip(missing);
        }

        return await RunAsync(program, arguments, "", []);
    }

    /// <summary>The executable with something to read from standard input.</summary>
    public static async Task<(int Exit, string Output, string Error)> ContractsReadingAsync(string database, string input, params string[] arguments)
    {
        var connection = await Server.AsAppAsync(database);
        return await KeptExecutable.RunAsync(arguments, input, Around(connection));
    }

    /// <summary>The executable started anew, as a shell does it: for tests of what it is from outside.</summary>
    public static async Task<(int Exit, string Output, string Error)> StartContractsAsync(
        string database, (string Name, string Value)[] environment, params string[] arguments)
    {
        var connection = await Server.AsAppAsync(database);
        return await RunAsync("dotnet", [typeof(ExitCodes).Assembly.Location, .. arguments], "", [.. Around(connection), .. environment]);
    }

    private static (string Name, string Value)[] Around(string connection) =>
        [("CONTRACTS_DATABASE", connection), .. Server.VaultOf(connection), (FolderSigner.Variable, Signers)];

    private static async Task<(int Exit, string Output, string Error)> RunAsync(
        string program, string[] arguments, string input, (string Name, string Value)[] environment)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            RedirectStandardOutput = true, RedirectStandardError = true, RedirectStandardInput = true,
        };
        foreach (var (name, value) in environment) { start.Environment[name] = value; }
        using var process = Process.Start(start)!;
        if (input.Length > 0) { await process.StandardInput.WriteAsync(input); }
        process.StandardInput.Close();
        var output = process.StandardOutput.ReadToEndAsync();
        var error = process.StandardError.ReadToEndAsync();
        await process.WaitForExitAsync();
        return (process.ExitCode, await output, await error);
    }
}
