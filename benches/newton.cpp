// The same wheel in C++ with Eigen: the same equations, rods without roots and turns by Cayley's map, plain Newton's method with
// a new Jacobian and partial pivoting at every step, from a neighbour 1 mm away, and the inverse of the Jacobian at the end. Reads
// what `cargo bench --bench work -- rods` prints; writes the least time of a solve in ns and how far its answer lies from the one
// that it was given.
//
// g++ -O3 -march=native -DNDEBUG -I/usr/include/eigen3 newton.cpp
#include <Eigen/Dense>
#include <chrono>
#include <cmath>
#include <iostream>

using Vector3 = Eigen::Vector3d;
using Matrix3 = Eigen::Matrix3d;
using Vector6 = Eigen::Matrix<double, 6, 1>;
using Matrix6 = Eigen::Matrix<double, 6, 6>;

constexpr double LEVER = 100.0;

struct Pose {
    Matrix3 rotation;
    Vector3 centre;
};

struct Rods {
    Vector3 subframe[5], knuckle[5];
    double length[5], per_length[5], height;
};

static Pose read_pose() {
    Pose pose;
    for (int i = 0; i < 3; ++i)
        for (int j = 0; j < 3; ++j) std::cin >> pose.rotation(i, j);
    for (int i = 0; i < 3; ++i) std::cin >> pose.centre(i);
    return pose;
}

static void rows(const Rods &rods, const Pose &pose, Vector6 &missed, Matrix6 &jacobian) {
    for (int i = 0; i < 5; ++i) {
        const Vector3 arm = pose.rotation * rods.knuckle[i];
        const Vector3 line = pose.centre + arm - rods.subframe[i];
        const Vector3 along = line * rods.per_length[i];
        missed(i) = (line.dot(along) - rods.length[i]) / 2;
        jacobian.row(i) << along.transpose(), arm.cross(along).transpose() / LEVER;
    }
    missed(5) = pose.centre.z() - rods.height;
    jacobian.row(5) << 0, 0, 1, 0, 0, 0;
}

static bool solve(const Rods &rods, Pose &pose, Matrix6 &response) {
    Vector6 missed;
    Matrix6 jacobian;
    for (int step = 0; step < 20; ++step) {
        rows(rods, pose, missed, jacobian);
        const Vector6 motion = jacobian.partialPivLu().solve(-missed);
        const Vector3 half = motion.tail<3>() * (0.5 / LEVER);
        Matrix3 cross;
        cross << 0, -half.z(), half.y(), half.z(), 0, -half.x(), -half.y(), half.x(), 0;
        const double two = 2 / (1 + half.squaredNorm());
        pose.centre += motion.head<3>();
        pose.rotation = (Matrix3::Identity() + two * (cross + cross * cross)) * pose.rotation;
        if (motion.norm() < 1e-6) {
            rows(rods, pose, missed, jacobian);
            response = jacobian.inverse();
            return missed.cwiseAbs().maxCoeff() < 1e-9;
        }
    }
    return false;
}

int main() {
    Rods rods;
    for (int i = 0; i < 5; ++i) {
        for (int k = 0; k < 3; ++k) std::cin >> rods.subframe[i](k);
        for (int k = 0; k < 3; ++k) std::cin >> rods.knuckle[i](k);
        std::cin >> rods.length[i];
        rods.per_length[i] = 1 / rods.length[i];
    }
    std::cin >> rods.height;
    const Pose near = read_pose(), answer = read_pose();
    Pose pose;
    Matrix6 response;
    double least = INFINITY, sum = 0;
    for (int round = 0; round < 300; ++round) {
        const auto begin = std::chrono::steady_clock::now();
        for (int i = 0; i < 2000; ++i) {
            pose = near;
            // Nothing may be worked out once for all turns.
            asm volatile("" : : "r"(&rods), "r"(&pose) : "memory");
            if (!solve(rods, pose, response)) return 1;
            sum += response(0, 0);
        }
        const std::chrono::duration<double, std::nano> took = std::chrono::steady_clock::now() - begin;
        least = std::min(least, took.count() / 2000);
    }
    std::cout << least << " " << (pose.centre - answer.centre).norm() << " " << (std::isfinite(sum) ? 0 : 1) << "\n";
}
