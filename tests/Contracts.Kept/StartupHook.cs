using System.Reflection;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json;
using Contracts.Kept;
using Microsoft.Win32.SafeHandles;
using Spectre.Console;

/// <summary>
/// What <c>DOTNET_STARTUP_HOOKS</c> runs in the executable before its own beginning (dotnet/runtime, "Host startup hook"; name
/// and method are fixed there): commands are then carried out in this one process, one after the other, until nobody asks any
/// more. Each has standard input, output and error of its own, by their numbers, and an environment of its own.
/// </summary>
/// <remarks>It is an assembly of its own because the executable looks into the assemblies that are loaded with it.</remarks>
internal static class StartupHook
{
    /// <summary>Carries out a command for each line of standard input, a <see cref="KeptCommand"/>, and answers with its exit code.</summary>
    public static void Initialize()
    {
        Environment.SetEnvironmentVariable("DOTNET_STARTUP_HOOKS", null);
        var main = Assembly.GetEntryAssembly()!.EntryPoint!;
        using var requests = new StreamReader(new FileStream(new SafeFileHandle(Duplicate(0), true), FileAccess.Read));
        using var answers = new StreamWriter(new FileStream(new SafeFileHandle(Duplicate(1), true), FileAccess.Write)) { AutoFlush = true };
        while (requests.ReadLine() is { } line) { answers.WriteLine(Run(main, JsonSerializer.Deserialize<KeptCommand>(line)!)); }
        Environment.Exit(0);
    }

    private static int Run(MethodInfo main, KeptCommand command)
    {
        var before = command.Environment.Keys.ToDictionary(name => name, Environment.GetEnvironmentVariable);
        foreach (var (name, value) in command.Environment) { Environment.SetEnvironmentVariable(name, value); }
        Put(0, Path.Combine(command.Folder, "in"), FileMode.Open);
        Put(1, Path.Combine(command.Folder, "out"), FileMode.Create);
        Put(2, Path.Combine(command.Folder, "error"), FileMode.Create);
        using var input = new StreamReader(Console.OpenStandardInput());
        Console.SetIn(input);
        using var output = Writer(Console.OpenStandardOutput());
        using var error = Writer(Console.OpenStandardError());
        Console.SetOut(output);
        Console.SetError(error);
        AnsiConsole.Console = AnsiConsole.Create(new AnsiConsoleSettings());
        try { return (int)main.Invoke(null, [command.Arguments])!; }
        finally
        {
            foreach (var (name, value) in before) { Environment.SetEnvironmentVariable(name, value); }
        }
    }

    private static StreamWriter Writer(Stream stream) => new(stream, new UTF8Encoding(false)) { AutoFlush = true };

    private static void Put(int number, string file, FileMode mode)
    {
        using var opened = File.OpenHandle(file, mode, number == 0 ? FileAccess.Read : FileAccess.Write, FileShare.ReadWrite);
        if (Duplicate((int)opened.DangerousGetHandle(), number) < 0) { throw new IOException($"{file} cannot be number {number}."); }
    }

    [DllImport("libc", EntryPoint = "dup")]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Duplicate(int number);

    [DllImport("libc", EntryPoint = "dup2")]
    [DefaultDllImportSearchPaths(DllImportSearchPath.SafeDirectories)]
    private static extern int Duplicate(int number, int to);
}
