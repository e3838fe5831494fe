using System.Diagnostics;

namespace Contracts.Store.Embedded;

/// <summary>PostgreSQL refuses to run as root; then it runs as another user, who owns its files.</summary>
internal static class ServerUser
{
    public static bool CallerIsRoot { get; } = !OperatingSystem.IsWindows() && Environment.UserName == "root";

    /// <summary>The user the server runs as when the caller is root, else null.</summary>
    public static string? Name { get; } = CallerIsRoot ? (Exists("postgres") ? "postgres" : "nobody") : null;

    public static ProcessStartInfo As(string program, IEnumerable<string> arguments)
    {
        var start = new ProcessStartInfo(program, arguments) { WorkingDirectory = "/" };
        if (OperatingSystem.IsWindows()) { start.WorkingDirectory = Path.GetTempPath(); }
        if (Name is not null && OperatingSystem.IsLinux()) { start.UserName = Name; }
        return start;
    }

    /// <summary>Makes a folder that only the server's user can enter (root always can).</summary>
    public static void MakeFolder(string folder)
    {
        Directory.CreateDirectory(folder);
        if (OperatingSystem.IsWindows()) { return; }
        File.SetUnixFileMode(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        if (Name is null) { return; }
        using var chown = Process.Start("chown", [Name, folder]);
        chown.WaitForExit();
    }

    /// <summary>Whether the server's user can reach a folder: every parent must let others pass.</summary>
    public static bool CanReach(string folder)
    {
        if (Name is null || OperatingSystem.IsWindows()) { return true; }
        for (var parent = Path.GetDirectoryName(Path.GetFullPath(folder)); parent is not null; parent = Path.GetDirectoryName(parent))
        {
            if (Directory.Exists(parent) && (File.GetUnixFileMode(parent) & UnixFileMode.OtherExecute) == 0) { return false; }
        }

        return true;
    }

    private static bool Exists(string user) =>
        File.Exists("/etc/passwd") && File.ReadLines("/etc/passwd").Any(line => line.StartsWith(user + ":", StringComparison.Ordinal));
}
