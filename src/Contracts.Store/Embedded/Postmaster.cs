using System.Diagnostics;
using System.Globalization;

namespace Contracts.Store.Embedded;

/// <summary>What a running server wrote about itself into postmaster.pid.</summary>
internal sealed record Postmaster(int Pid, int Port, string Socket, string Address, bool Ready, string Identity)
{
    /// <summary>The host to connect to: the socket's folder, or the loopback address.</summary>
    public string Host => Socket.Length > 0 ? Socket : Address;

    /// <summary>Whether the socket it listens on is still in place.</summary>
    public bool SocketLost => Ready && Socket.Length > 0 && !File.Exists(Path.Combine(Socket, $".s.PGSQL.{Port}"));

    /// <summary>The server running in this cluster, or null. A number left by a dead server counts for nothing.</summary>
    public static Postmaster? Find(string cluster)
    {
        var lines = Read(FileIn(cluster));
        if (lines.Length < 3 || !int.TryParse(lines[0], NumberStyles.None, CultureInfo.InvariantCulture, out var pid))
        {
            return null;
        }
        var identity = IdentityOf(lines);
        if (!IsServer(pid, identity))
        {
            return null;
        }
        // A server that is only just starting has not written its address yet.
        _ = int.TryParse(lines.ElementAtOrDefault(3), NumberStyles.None, CultureInfo.InvariantCulture, out var port);
        var socket = lines.ElementAtOrDefault(4)?.Trim() ?? "";
        var address = lines.ElementAtOrDefault(5)?.Trim() ?? "";
        var ready = lines.ElementAtOrDefault(7)?.Trim() == "ready";
        return new Postmaster(pid, port, socket, address, ready, identity);
    }

    /// <summary>
    /// Removes a postmaster.pid whose number was given to a stranger since. PostgreSQL itself
    /// would take the stranger for its server and refuse to start.
    /// </summary>
    public static void ForgetStranger(string cluster)
    {
        var lines = Read(FileIn(cluster));
        // While any process still works in the cluster, the file guards its shared memory.
        if (lines.Length > 0 && int.TryParse(lines[0], out var pid) && Exists(pid) && !AnyProcessIn(IdentityOf(lines)))
        {
            File.Delete(FileIn(cluster));
        }
    }

    private static string FileIn(string folder) => Path.Combine(folder, "postmaster.pid");

    private static string IdentityOf(string[] lines) => string.Join('\n', lines.Take(3));

    private static bool IsServer(int pid, string identity)
    {
        if (OperatingSystem.IsLinux())
        {
            // A server works inside its cluster; seen from there, the file must be the same one.
            return WorksIn(pid, identity);
        }
        try
        {
            using var process = Process.GetProcessById(pid);
            return process.ProcessName.StartsWith("postgres", StringComparison.OrdinalIgnoreCase);
        }
        catch (Exception cause) when (cause is ArgumentException or InvalidOperationException)
        {
            return false;
        }
    }

    private static bool AnyProcessIn(string identity)
    {
        if (!OperatingSystem.IsLinux())
        {
            return Process.GetProcessesByName("postgres").Length > 0;
        }
        return Directory
            .EnumerateDirectories("/proc")
            .Select(Path.GetFileName)
            .Any(name => int.TryParse(name, out var pid) && WorksIn(pid, identity));
    }

    private static bool WorksIn(int pid, string identity) =>
        IdentityOf(Read(FileIn($"/proc/{pid}/cwd"))) == identity
        && ReadName(pid).StartsWith("postgres", StringComparison.Ordinal);

    private static string ReadName(int pid) => Read($"/proc/{pid}/comm").FirstOrDefault() ?? "";

    private static bool Exists(int pid)
    {
        try
        {
            using var process = Process.GetProcessById(pid);
            return true;
        }
        catch (ArgumentException)
        {
            return false;
        }
    }

    private static string[] Read(string file)
    {
        try
        {
            // The server rewrites the file while we read it; every line is checked on its own.
            using var stream = new FileStream(file, FileMode.Open, FileAccess.Read, FileShare.ReadWrite | FileShare.Delete);
            using var reader = new StreamReader(stream);
            return reader.ReadToEnd().Split('\n', StringSplitOptions.TrimEntries);
        }
        catch (Exception cause) when (cause is IOException or UnauthorizedAccessException)
        {
            return [];
        }
    }
}
